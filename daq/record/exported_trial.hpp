// SPDX-License-Identifier: GPL-3.0-or-later
//
// One trial as it is written out. Internal to daq/record.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daq/record/trial_export.hpp"

namespace coldstroke::daq {

struct ExportedTrial {
  TrialRow row;
  std::string setup_text;
  std::string result_json;  ///< the newest stored one, else made now
  std::string void_words;   ///< who voided it by hand and why; empty if nobody
  analysis::TraceSet traces;
  analysis::TrialResult result;
};

/// Numbers of the trials asked for, or all recorded ones. Complains about one that is not there.
[[nodiscard]] Result<TrialNumbers> chosen_trials(const Campaign& campaign, const TrialNumbers& asked);
[[nodiscard]] Result<ExportedTrial> read_exported(const Campaign& campaign, std::int64_t number);

[[nodiscard]] std::string_view quantity_word(analysis::Quantity quantity);
/// "trial_0007"
[[nodiscard]] std::string trial_name(std::int64_t number);
/// For people who find the export without anything else.
[[nodiscard]] std::string export_readme(const std::string& campaign_name, const ChainHead& head);

}  // namespace coldstroke::daq
