// SPDX-License-Identifier: GPL-3.0-or-later
//
// Exit speeds got in different ways must agree; where they do not, which one stands apart names the likely culprit.
#pragma once

#include <string>
#include <vector>

#include "analysis/trial/analyse.hpp"
#include "analysis/trial/budget.hpp"

namespace coldstroke::analysis {

struct SpeedWitness {
  std::string from;     ///< "force", "acceleration", "stroke", "free fall"
  std::string culprit;  ///< what is wrong if this one stands apart
  double speed_mps = 0.0;
  Budget budget;
};

/// One finding `exit_speeds_disagree` if any two differ by more than three standard uncertainties of their difference. If leaving
/// out one single speed leaves at least two that agree, that one is named with its culprit; else none is, and the finding says
/// so.
[[nodiscard]] std::vector<Finding> compare_speeds(const std::vector<SpeedWitness>& speeds);

/// The exit speed that everything after the tube is reckoned with: of those read in the tube (force, acceleration, stroke) the
/// one of least standard uncertainty that is not a lower bound; nullptr if there is none. The one from free fall only checks the
/// others: it rests on the flight itself.
[[nodiscard]] const Measured* best_exit_speed(const std::vector<Metric>& metrics);

}  // namespace coldstroke::analysis
