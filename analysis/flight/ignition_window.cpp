// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/flight/ignition_window.hpp"

#include <algorithm>
#include <boost/math/distributions/gamma.hpp>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

namespace coldstroke::analysis {
namespace {

bool scatters(const Delay& d) { return d.standard_deviation_seconds > 0.0 && d.mean_seconds > 0.0; }

boost::math::gamma_distribution<> gamma_of(const Delay& d) {
  const double variance = d.standard_deviation_seconds * d.standard_deviation_seconds;
  return {d.mean_seconds * d.mean_seconds / variance, variance / d.mean_seconds};
}

double probability_by(const Delay& d, double seconds) {
  if (!scatters(d)) return seconds >= d.mean_seconds ? 1.0 : 0.0;
  return seconds > 0.0 ? boost::math::cdf(gamma_of(d), seconds) : 0.0;
}

}  // namespace

double mean_thrust_seconds(const IgnitionWindowSetup& chain) {
  return chain.logic_seconds + chain.igniter.mean_seconds + chain.build_up.mean_seconds;
}

double thrust_probability_by(const IgnitionWindowSetup& chain, double seconds_after_decision) {
  const double left = seconds_after_decision - chain.logic_seconds;
  if (!scatters(chain.igniter)) return probability_by(chain.build_up, left - chain.igniter.mean_seconds);
  if (!scatters(chain.build_up)) return probability_by(chain.igniter, left - chain.build_up.mean_seconds);
  const auto igniter = gamma_of(chain.igniter), build_up = gamma_of(chain.build_up);
  // Fifteen standard deviations hold all but 1e-6 of a gamma delay whose mean is above its standard deviation.
  const double spread = chain.igniter.standard_deviation_seconds, mean = chain.igniter.mean_seconds;
  const double low = std::max(0.0, mean - 12.0 * spread), high = std::min(left, mean + 15.0 * spread);
  if (high <= low) return 0.0;
  const auto joint = [&](double t) {
    return left > t && t > 0.0 ? boost::math::pdf(igniter, t) * boost::math::cdf(build_up, left - t) : 0.0;
  };
  const double sum = boost::math::quadrature::gauss_kronrod<double, 31>::integrate(joint, low, high, 6, 1.0e-8);
  return std::clamp(sum, 0.0, 1.0);
}

double thrust_seconds_at(const IgnitionWindowSetup& chain, double p) {
  const double spread = std::hypot(chain.igniter.standard_deviation_seconds, chain.build_up.standard_deviation_seconds);
  const double mean = mean_thrust_seconds(chain);
  if (!scatters(chain.igniter) && !scatters(chain.build_up)) return mean;
  const auto excess = [&](double seconds) { return thrust_probability_by(chain, seconds) - p; };
  double low = chain.logic_seconds, high = mean + 4.0 * spread;
  while (excess(high) < 0.0 && high < mean + 1000.0 * spread) high = mean + 2.0 * (high - mean);
  std::uintmax_t tries = 60;
  const auto [from, to] = boost::math::tools::toms748_solve(
      excess, low, high, [](double a, double b) { return std::abs(a - b) < 1.0e-6; }, tries);
  return 0.5 * (from + to);
}

std::optional<IgnitionWindow> ignition_window(const VerticalPart& climb, const IgnitionWindowSetup& setup) {
  const auto opens = seconds_to_height(climb.coast, climb.exit_speed_mps, setup.least_height_metres);
  const auto closes = seconds_to_speed(climb.coast, climb.exit_speed_mps, setup.least_speed_mps);
  if (!opens || !closes || *closes <= *opens) return std::nullopt;
  return IgnitionWindow{*opens, *closes};
}

double probability_in_window(const IgnitionWindow& window, const IgnitionWindowSetup& chain, double decision_seconds) {
  const double to_close = thrust_probability_by(chain, window.closes_seconds - decision_seconds);
  // Thrust at the very instant of opening is inside; only what begins before it is not.
  const double before = thrust_probability_by(chain, std::nextafter(window.opens_seconds - decision_seconds, -1.0e300));
  return std::max(0.0, to_close - before);
}

double latest_safe_decision_seconds(const IgnitionWindow& window, const IgnitionWindowSetup& chain) {
  return window.closes_seconds - thrust_seconds_at(chain, chain.wanted_probability);
}

}  // namespace coldstroke::analysis
