// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "analysis/trial/analyse.hpp"
#include "analysis/trial/trace.hpp"
#include "daq/record/campaign.hpp"

namespace coldstroke::gui {

/// One trial as a page or a report shows it: what the campaign file says of it, its traces, its result, and what people wrote.
struct ReportTrial {
  daq::TrialRow row;
  analysis::TraceSet traces;
  analysis::TrialResult result;  ///< meaningless unless `judged`
  bool judged = false;           ///< false: aborted, interrupted or still recording, or no result could be had
  std::string why_not_judged;    ///< one sentence, if not judged
  std::vector<std::string> decode_notes;
  std::vector<daq::Campaign::Note> notes;
  std::optional<daq::HandVoid> hand_void{};  ///< its verdict was set aside; the result stays
  std::vector<std::string> bypasses;         ///< interlocks that people went on without, each with the reason they gave
  std::shared_ptr<const daq::Setup> setup;   ///< as stored with the trial; null if it cannot be read
  std::string setup_name;                    ///< campaign or rig name of the setup stored with the trial, may be empty
};

/// Until when a calibration is valid, seen from a day (ISO 8601): "2026-03-01", "2026-03-01, EXPIRED by 2026-11-26" or "not
/// stated".
[[nodiscard]] std::string validity(const daq::Calibration& calibration, const std::string& day);

/// One sentence a channel: which calibration the trial was recorded with, until when it was valid, and whether it had expired on
/// that day. What was corrected since stands in `decode_notes`. Empty if the setup cannot be read.
[[nodiscard]] std::vector<std::string> calibrations_used(const ReportTrial& trial);

/// "pass", "fail", "void" (by its data or by hand); the status word ("aborted", "interrupted", "recording") or "not judged" for
/// one that is not judged.
[[nodiscard]] std::string verdict_word(const ReportTrial& trial);

}  // namespace coldstroke::gui
