// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::analysis {
namespace {

// Above this pressure ratio both characteristics go to zero in a straight line. The root has an infinite slope at ratio 1,
// on which an explicit integrator chatters when reservoir and chamber equalise. A numerical device, not physics.
constexpr double kLinearRatio = 0.999;

double iso6358_factor(double ratio, double critical_ratio) {
  if (ratio <= critical_ratio) return 1.0;
  const double part = (ratio - critical_ratio) / (1.0 - critical_ratio);
  return std::sqrt(std::max(0.0, 1.0 - part * part));
}

double isentropic_factor(double ratio, double gamma) {
  const double critical = std::pow(2.0 / (gamma + 1.0), gamma / (gamma - 1.0));
  if (ratio <= critical) return std::sqrt(gamma) * std::pow(2.0 / (gamma + 1.0), (gamma + 1.0) / (2.0 * (gamma - 1.0)));
  const double bracket = std::pow(ratio, 2.0 / gamma) - std::pow(ratio, (gamma + 1.0) / gamma);
  return std::sqrt(std::max(0.0, 2.0 * gamma / (gamma - 1.0) * bracket));
}

template <class Factor>
double with_linear_end(double ratio, Factor factor) {
  if (ratio <= kLinearRatio) return factor(ratio);
  return factor(kLinearRatio) * (1.0 - ratio) / (1.0 - kLinearRatio);
}

}  // namespace

double iso6358_mass_flow(double c, double b, double p1, double t1, double p2, double t2) {
  if (p2 > p1) return -iso6358_mass_flow(c, b, p2, t2, p1, t1);
  if (p1 <= 0.0) return 0.0;
  const double factor = with_linear_end(p2 / p1, [b](double ratio) { return iso6358_factor(ratio, b); });
  return c * kIsoReferenceDensity * p1 * std::sqrt(kIsoReferenceTemperature / t1) * factor;
}

double isentropic_mass_flow(double cd_area, double gamma, double gas_constant, double p1, double t1, double p2) {
  if (p2 > p1) return -isentropic_mass_flow(cd_area, gamma, gas_constant, p2, t1, p1);
  if (p1 <= 0.0) return 0.0;
  const double factor = with_linear_end(p2 / p1, [gamma](double ratio) { return isentropic_factor(ratio, gamma); });
  return cd_area * p1 / std::sqrt(gas_constant * t1) * factor;
}

double opening(const Valve& valve, double since_command_seconds) {
  const double ramp = since_command_seconds - valve.dead_time_seconds;
  if (since_command_seconds < 0.0 || ramp < 0.0) return 0.0;
  if (valve.opening_seconds <= 0.0) return 1.0;
  return std::min(1.0, ramp / valve.opening_seconds);
}

}  // namespace coldstroke::analysis
