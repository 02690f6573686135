// SPDX-License-Identifier: GPL-3.0-or-later
//
// Coast and ignition window of one trial, as metrics with budgets.
#pragma once

#include <optional>
#include <vector>

#include "analysis/trial/analyse.hpp"

namespace coldstroke::analysis {

struct Climb {
  std::vector<Metric> metrics;  ///< coast_apex_metres to latest_safe_decision_seconds
  std::vector<Finding> findings;
  std::optional<double> onset_seconds;  ///< expected thrust, from separation
  double onset_standard_uncertainty_seconds = 0.0;
  /// From separation: a current before the first could bring thrust before the window opens (1 in 1000), after the second thrust
  /// after it closes (with the setup's probability). Absent: no window is set up.
  std::optional<double> earliest_current_seconds, latest_current_seconds;
  bool no_window = false;  ///< a window is set up, and no instant of this climb lies in it
};

/// Pure. What the setup does not say is absent with a reason.
[[nodiscard]] Climb climb_of(const TrialSetup& setup, const std::vector<Metric>& stroke_metrics);

}  // namespace coldstroke::analysis
