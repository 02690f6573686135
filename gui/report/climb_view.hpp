// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/flight/ignition_window.hpp"
#include "analysis/result.hpp"
#include "gui/report/report_trial.hpp"

namespace coldstroke::gui {

struct ClimbPoint {
  double seconds = 0.0, height_metres = 0.0, speed_mps = 0.0;
};

/// The climb of one trial, ready to be drawn or printed. Seconds from separation.
struct ClimbView {
  std::vector<ClimbPoint> profile;  ///< every 20 ms from the mouth to the mouth
  analysis::Apex apex;
  std::optional<analysis::IgnitionWindow> window;
  std::optional<double> onset_seconds;                            ///< expected thrust
  std::optional<double> onset_early_seconds, onset_late_seconds;  ///< 95 % of it
  std::optional<double> decision_seconds, latest_safe_decision_seconds;
  std::vector<std::string> sentences;  ///< what it comes to, in words
};

/// Complains if the trial's setup has no [coast] or no exit speed is known.
[[nodiscard]] Result<ClimbView> climb_view(const ReportTrial& trial);

}  // namespace coldstroke::gui
