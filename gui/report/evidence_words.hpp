// SPDX-License-Identifier: GPL-3.0-or-later
//
// What verbs and page say of a campaign as evidence, thought out once: plans, outlook, integrity.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "daq/record/evidence_trials.hpp"
#include "gui/report/sheet.hpp"

namespace coldstroke::gui {

/// A campaign's trials and what they show together.
struct WeighedCampaign {
  std::vector<analysis::EvidenceTrial> trials;
  analysis::CampaignEvidence evidence;
  std::vector<analysis::HandoverItem> tested;  ///< in the last trial, in the words of a flight configuration
};
/// Decodes every trial, so it takes tens of milliseconds a trial.
[[nodiscard]] Result<WeighedCampaign> read_weighed(const std::filesystem::path& campaign, const daq::Progress& progress = {});

struct PlanWish {
  double reliability = 0.90, confidence = 0.95;  ///< both strictly between 0 and 1
  std::int64_t most_failures = 2;
  std::optional<double> truth{};  ///< a true reliability to be shown beside the usual ones; strictly between 0 and 1
};
/// The plans that show the wished reliability, a row each: trials, failures allowed, and how often a detector of a given true
/// reliability passes.
[[nodiscard]] Result<SheetTable> plan_table(const PlanWish& wish);

/// What so many more passes in a row would show after the trials already counted; no row before the first trial.
[[nodiscard]] Result<SheetTable> outlook_table(const analysis::CampaignEvidence& weighed);

struct Verification {
  daq::IntegrityReport report;
  daq::ChainHead head;
  bool sound = false;  ///< no finding, and the head asked for is in the chain
  std::vector<std::string> lines;
};
/// Every byte of the file against its digests; what cannot be read is a finding. `head`: as printed on a sheet, or empty.
/// Complains about a file that is no campaign, and when stopped.
[[nodiscard]] Result<Verification> verify_campaign(const std::filesystem::path& file, const std::string& head,
                                                   const daq::Progress& progress = {});

}  // namespace coldstroke::gui
