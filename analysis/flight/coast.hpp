// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace coldstroke::analysis {

/// Seconds from leaving the tube at `exit_speed_mps`, `tilt_radians` from vertical, to the top of the coast, without drag:
/// v cos(tilt) / g. Drag makes it shorter, by about 1 % for a small vehicle at 10 to 20 m/s, so this is not a safe limit for
/// anything; it is a mark on a plot. 0 for a speed that is not positive.
[[nodiscard]] double seconds_to_apex_without_drag(double exit_speed_mps, double tilt_radians);

}  // namespace coldstroke::analysis
