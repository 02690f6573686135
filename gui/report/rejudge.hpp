// SPDX-License-Identifier: GPL-3.0-or-later
//
// Judging archived trials again with a corrected calibration: what the verb and the Calibration page share.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <vector>

#include "daq/record/trial_archive.hpp"
#include "gui/report/report_trial.hpp"

namespace coldstroke::gui {

/// What judging gave, for a page or a verb.
[[nodiscard]] ReportTrial report_of(daq::TrialRow row, daq::JudgedTrial judged);

/// Judges every recorded trial of the campaign, or `only` this one, with the correction on top of what is in force, and keeps
/// correction and new result beside the old ones. A correction that one trial refuses is refused for all: nothing is written.
[[nodiscard]] Result<std::vector<ReportTrial>> rejudge(const std::filesystem::path& campaign, std::optional<std::int64_t> only,
                                                       const daq::Recalibration& correction);

}  // namespace coldstroke::gui
