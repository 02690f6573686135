// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/flight/coast.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::analysis {
namespace {

/// k = g / v_t^2, 1/m: 0 without drag.
double drag_per_metre(const Coast& c) { return 0.5 * c.air_density_kg_per_m3 * c.drag_area_m2 / c.mass_kg; }

}  // namespace

double terminal_speed_mps(const Coast& coast) {
  const double k = drag_per_metre(coast);
  return k > 0.0 ? std::sqrt(kStandardGravity / k) : std::numeric_limits<double>::infinity();
}

std::optional<double> seconds_to_speed(const Coast& coast, double exit_speed_mps, double speed_mps) {
  if (!(speed_mps >= 0.0) || !(exit_speed_mps >= speed_mps)) return std::nullopt;
  const double vt = terminal_speed_mps(coast), slower = exit_speed_mps - speed_mps;
  if (std::isinf(vt)) return slower / kStandardGravity;
  // atan(v0/vt) - atan(v/vt) in one: no cancellation where drag is small.
  return vt / kStandardGravity * std::atan2(slower / vt, 1.0 + exit_speed_mps * speed_mps / (vt * vt));
}

Apex apex_of(const Coast& coast, double exit_speed_mps) {
  const double k = drag_per_metre(coast), v = std::max(0.0, exit_speed_mps);
  const double height = k > 0.0 ? std::log1p(k * v * v / kStandardGravity) / (2.0 * k) : 0.5 * v * v / kStandardGravity;
  return {*seconds_to_speed(coast, v, 0.0), height};
}

std::optional<double> seconds_to_height(const Coast& coast, double exit_speed_mps, double height_metres) {
  if (!(exit_speed_mps >= 0.0)) return std::nullopt;
  if (height_metres <= 0.0) return 0.0;
  // v^2 falls as (v0^2 + vt^2) exp(-2 k h) - vt^2
  const double k = drag_per_metre(coast), g = kStandardGravity;
  const double loss = k > 0.0 ? -std::expm1(-2.0 * k * height_metres) / k : 2.0 * height_metres;
  const double squared = exit_speed_mps * exit_speed_mps * std::exp(-2.0 * k * height_metres) - g * loss;
  if (!(squared >= 0.0)) return std::nullopt;
  return seconds_to_speed(coast, exit_speed_mps, std::min(exit_speed_mps, std::sqrt(squared)));
}

CoastPoint coast_at(const Coast& coast, double exit_speed_mps, double seconds) {
  const double g = kStandardGravity, vt = terminal_speed_mps(coast), v0 = exit_speed_mps;
  if (std::isinf(vt)) return {v0 * seconds - 0.5 * g * seconds * seconds, v0 - g * seconds};
  const Apex top = apex_of(coast, v0);
  if (seconds <= top.seconds) {
    const double a = g * seconds / vt, half = std::sin(0.5 * a), turn = std::tan(a);
    // vt tan(atan(v0/vt) - a) as a difference of angles, which is v0 itself at 0 and never a rounding above it.
    return {vt * vt / g * std::log1p(v0 / vt * std::sin(a) - 2.0 * half * half), vt * (v0 - vt * turn) / (vt + v0 * turn)};
  }
  const double a = g * (seconds - top.seconds) / vt;
  // ln cosh a = a + ln((1 + exp(-2a)) / 2), which does not overflow; by its square where a is small.
  const double drop =
      a < 1.0 ? 0.5 * std::log1p(std::sinh(a) * std::sinh(a)) : a + std::log1p(std::exp(-2.0 * a)) - std::log(2.0);
  return {top.height_metres - vt * vt / g * drop, -vt * std::tanh(a)};
}

VerticalPart vertical_part(Coast coast, double exit_speed_mps, double tilt_radians) {
  const double upright = std::cos(tilt_radians);
  coast.drag_area_m2 /= std::max(upright, 1.0e-3);
  return {coast, std::max(0.0, exit_speed_mps * upright)};
}

double seconds_to_apex_without_drag(double exit_speed_mps, double tilt_radians) {
  const double upward = exit_speed_mps * std::cos(tilt_radians);
  return upward > 0.0 ? upward / kStandardGravity : 0.0;
}

double standard_air_density_kg_per_m3(double height_metres) {
  // US Standard Atmosphere 1976, tables 2 and 4: defining constants; geopotential height H = r0 Z / (r0 + Z).
  constexpr double kEarthRadius = 6356766.0, kLapse = -0.0065, kKelvin = 288.15, kPascals = 101325.0;
  constexpr double kMolarMass = 0.0289644, kGasConstant = 8.31432;
  const double z = std::clamp(height_metres, -1000.0, 11000.0);
  const double kelvin = kKelvin + kLapse * kEarthRadius * z / (kEarthRadius + z);
  const double pressure = kPascals * std::pow(kKelvin / kelvin, kStandardGravity * kMolarMass / (kGasConstant * kLapse));
  return pressure * kMolarMass / (kGasConstant * kelvin);
}

}  // namespace coldstroke::analysis
