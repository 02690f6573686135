// SPDX-License-Identifier: GPL-3.0-or-later
//
// Unpowered vertical climb and fall with quadratic drag, closed form: v_t = sqrt(2 m g / (rho Cd S)), phi0 = atan(v0 / v_t),
// v = v_t tan(phi0 - g t / v_t) while rising, v_t tanh while falling. Source: Fowles and Cassiday, Analytical Mechanics,
// section 2.4 (as quoted in public mechanics notes). Written so that it goes over into the drag-free form without losing digits.
#pragma once

#include <optional>

namespace coldstroke::analysis {

struct Coast {
  double mass_kg = 0.0;       ///< > 0
  double drag_area_m2 = 0.0;  ///< Cd S, 0: no drag
  double air_density_kg_per_m3 = 1.225;
};

/// Speed at which drag carries the weight, m/s; infinite without drag.
[[nodiscard]] double terminal_speed_mps(const Coast& coast);

struct CoastPoint {
  double height_metres = 0.0, speed_mps = 0.0;  ///< above the tube's mouth; positive upwards
};
/// `seconds` >= 0 after leaving upwards at `exit_speed_mps` >= 0; falls on below the mouth if time goes on.
[[nodiscard]] CoastPoint coast_at(const Coast& coast, double exit_speed_mps, double seconds);

struct Apex {
  double seconds = 0.0, height_metres = 0.0;
};
[[nodiscard]] Apex apex_of(const Coast& coast, double exit_speed_mps);
/// Seconds until the rising vehicle is down to `speed_mps` (0: the apex). Nothing if it leaves slower than that.
[[nodiscard]] std::optional<double> seconds_to_speed(const Coast& coast, double exit_speed_mps, double speed_mps);
/// Seconds until it first reaches `height_metres`. Nothing if it never does.
[[nodiscard]] std::optional<double> seconds_to_height(const Coast& coast, double exit_speed_mps, double height_metres);

/// A tube `tilt_radians` from vertical: the vertical part of the motion, drag area raised by 1/cos(tilt) because drag goes with
/// the whole speed. To 10 degrees the apex agrees with the integrated flight to 0.1 %.
struct VerticalPart {
  Coast coast;
  double exit_speed_mps = 0.0;
};
[[nodiscard]] VerticalPart vertical_part(Coast coast, double exit_speed_mps, double tilt_radians);

/// Seconds from leaving the tube to the top of the coast without drag: v cos(tilt) / g. Drag makes it shorter, by about 1 % for
/// a small vehicle at 10 to 20 m/s, so this is not a safe limit for anything. 0 for a speed that is not positive.
[[nodiscard]] double seconds_to_apex_without_drag(double exit_speed_mps, double tilt_radians);

/// Density of dry air, kg/m^3, at a geometric height of -1000 to 11 000 m: US Standard Atmosphere 1976, first layer.
[[nodiscard]] double standard_air_density_kg_per_m3(double height_metres);

}  // namespace coldstroke::analysis
