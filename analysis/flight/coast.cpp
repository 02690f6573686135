// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/flight/coast.hpp"

#include <cmath>

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::analysis {

double seconds_to_apex_without_drag(double exit_speed_mps, double tilt_radians) {
  const double upward = exit_speed_mps * std::cos(tilt_radians);
  return upward > 0.0 ? upward / kStandardGravity : 0.0;
}

}  // namespace coldstroke::analysis
