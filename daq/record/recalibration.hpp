// SPDX-License-Identifier: GPL-3.0-or-later
//
// A calibration found wrong afterwards is never edited: a corrected one is kept beside it, trial by trial, and counts from then
// on.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "daq/record/campaign.hpp"
#include "daq/setup/setup.hpp"

namespace coldstroke::daq {

struct Recalibration {
  std::string channel;      ///< name of a channel of the trial's setup
  Calibration calibration;  ///< takes the place of the one in force
  std::string author, reason;
  bool operator==(const Recalibration&) const = default;
};

/// All corrections kept with a trial, oldest first; of a channel the last one counts.
[[nodiscard]] Result<std::vector<Recalibration>> recalibrations(const Campaign& campaign, std::int64_t trial);
/// Keeps one. Complains of a correction without author or reason, or with a scale that is not a number or 0.
[[nodiscard]] Result<void> keep_recalibration(Campaign& campaign, std::int64_t trial, const Recalibration& correction);

/// `setup` with the corrections laid over it. Complains of a channel that the setup does not have.
[[nodiscard]] Result<Setup> corrected(Setup setup, const std::vector<Recalibration>& corrections);
/// One sentence for a correction, for the record's notes.
[[nodiscard]] std::string sentence(const Recalibration& correction);

}  // namespace coldstroke::daq
