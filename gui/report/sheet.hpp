// SPDX-License-Identifier: GPL-3.0-or-later
//
// The verdict sheet: what a campaign showed, for people to sign. Thought out once as a list of blocks; written as one HTML file
// (sheet_html.cpp) and as PDF (sheet_pdf.cpp).
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "analysis/evidence/campaign_evidence.hpp"
#include "analysis/evidence/flight_handover.hpp"
#include "daq/record/campaign.hpp"
#include "daq/setup/setup.hpp"
#include "gui/report/figure.hpp"
#include "gui/report/report_trial.hpp"

namespace coldstroke::gui {

struct SheetHeading {
  std::string text;
};
enum class TextTone { plain, strong, muted, banner };
struct SheetText {
  std::string text;
  TextTone tone = TextTone::plain;
};
struct SheetList {
  std::vector<std::string> lines;
};
struct SheetTable {
  std::vector<std::string> head;
  std::vector<double> widths;                  ///< relative, one a column
  std::vector<std::vector<std::string>> rows;  ///< a cell that is exactly a verdict's word is shown as one
};
/// Lines to be signed: role and what is signed.
struct SheetSignatures {
  std::vector<std::string> roles;
};
using SheetBlock = std::variant<SheetHeading, SheetText, SheetList, SheetTable, Figure, SheetSignatures>;

struct Sheet {
  std::string title, subtitle;  ///< the title also stands at the top of every page
  std::string foot;             ///< at the foot of every page: the head of the chain
  std::vector<SheetBlock> blocks;
};

/// The operating map of the board's own detector over the campaign's library.
struct SheetMap {
  std::string library;                ///< "12 recordings must fire, 40 must stay silent"
  std::string why_not;                ///< no map, for this reason; the rest is then empty
  std::optional<Figure> figure;       ///< present setting marked
  std::string present;                ///< what became of the library under it
  std::string region;                 ///< the robust region in one sentence
  std::vector<std::string> findings;  ///< about the library, and what was left out of it
};

/// Everything that a sheet is made from.
struct SheetInput {
  std::string campaign_name, campaign_file, program_version, written_utc;
  daq::ChainHead head;
  daq::IntegrityReport integrity;                 ///< of the file that all this was read from
  std::vector<ReportTrial> trials;                ///< all, in order; traces only where drawn
  std::vector<analysis::EvidenceTrial> evidence;  ///< of the same trials
  analysis::CampaignEvidence weighed;
  daq::Setup setup;                           ///< of the last trial, with the calibrations corrected since
  std::vector<std::string> corrections;       ///< of calibrations, a sentence each, with the trials judged with it
  std::string rig_identity, flight_identity;  ///< JSON, of the last trial; empty: never introduced itself
  std::vector<std::string> bypasses;          ///< sentences, each with its trial
  std::optional<ReportTrial> worst;           ///< with traces
  std::string worst_why;
  std::optional<SheetMap> map;                 ///< if the campaign holds recordings to weigh a detector against
  std::optional<analysis::Handover> handover;  ///< with a flight configuration
};

/// The stacked traces around the stroke; nothing if the trial has none.
[[nodiscard]] std::optional<Figure> stroke_figure(const ReportTrial& trial);

/// The place in `trials` of the trial whose traces are worth the page: of the present run the first that failed, else the latest
/// to decide; nothing if none of them is judged. `why` says which.
[[nodiscard]] std::optional<std::size_t> worst_trial(const SheetInput& input, std::string& why);

[[nodiscard]] Sheet verdict_sheet(const SheetInput& input);

/// Self-contained: no script, picture, font or address of anywhere else.
[[nodiscard]] std::string sheet_html(const Sheet& sheet);

enum class PaperSize { a4, letter };
/// Vector drawing, embedded fonts; each page carries title, foot and its number of how many. Needs a QGuiApplication (any
/// platform). Replaces `file` whole or not at all. Returns the number of pages.
[[nodiscard]] Result<int> write_sheet_pdf(const std::filesystem::path& file, const Sheet& sheet, PaperSize paper);

}  // namespace coldstroke::gui
