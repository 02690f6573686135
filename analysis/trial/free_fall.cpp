// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/free_fall.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <vector>

#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/signal/edge.hpp"

namespace coldstroke::analysis {
namespace {
constexpr double kFastestMps = 500.0;
constexpr double kClearSeconds = 0.1;      // the piston's stop and the ring of leaving are over
constexpr double kBlowSeconds = 0.1;       // a landing has reached its peak by then
constexpr double kLow = 0.1, kHigh = 0.3;  // of the peak; a half-sine's start is found to 0.001 of its length
}  // namespace

std::optional<double> flight_seconds(const FreeFall& f, double v) {
  constexpr double g = kStandardGravity;
  const double k = 0.5 * f.air_density_kg_per_m3 * f.drag_area_m2;
  if (!(v >= 0.0)) return std::nullopt;
  if (!(k > 0.0)) {
    const double root = v * v - 2.0 * g * f.landing_height_metres;
    if (root < 0.0) return std::nullopt;
    return (v + std::sqrt(root)) / g;
  }
  const double terminal = std::sqrt(f.mass_kg * g / k);
  const double apex = terminal * terminal / (2.0 * g) * std::log1p(v * v / (terminal * terminal));
  const double down = apex - f.landing_height_metres;
  if (!(down >= 0.0)) return std::nullopt;
  return terminal / g * (std::atan(v / terminal) + std::acosh(std::exp(g * down / (terminal * terminal))));
}

std::optional<double> speed_of_flight(const FreeFall& fall, double seconds) {
  if (!std::isfinite(seconds) || !(fall.mass_kg > 0.0)) return std::nullopt;
  // The longer the flight, the faster it began; speeds too low to reach the landing height count as no flight at all.
  const auto longer = [&](double v) { return flight_seconds(fall, v).value_or(0.0) - seconds; };
  const auto slowest = flight_seconds(fall, 0.0);
  if (seconds <= slowest.value_or(0.0) || longer(kFastestMps) < 0.0) return std::nullopt;
  std::uintmax_t tries = 200;
  const auto root =
      boost::math::tools::toms748_solve(longer, 0.0, kFastestMps, boost::math::tools::eps_tolerance<double>(45), tries);
  const double speed = 0.5 * (root.first + root.second);
  const auto back = flight_seconds(fall, speed);
  // At the height's edge the flight time jumps from none to some: no speed has a time in between.
  if (!back || std::abs(*back - seconds) > 1.0e-6) return std::nullopt;
  return speed;
}

std::optional<Instant> find_landing(const Channel& c, const StrokeWindow& stroke, double flight_level) {
  const auto above = [&](std::size_t i) { return c.values()[i] - stroke.rest - flight_level; };
  const double clear = std::max(kStandardGravity, 10.0 * stroke.noise);
  std::size_t i = c.at_or_after(stroke.separation.seconds + kClearSeconds);
  while (i < c.size() && above(i) < clear) ++i;
  if (i + 3 >= c.size()) return std::nullopt;
  const std::size_t first = i > 20 ? i - 20 : 0, last = std::min(c.size(), i + c.count_in(kBlowSeconds, 4));
  if (c.lost_between(c.seconds(static_cast<double>(first)), c.seconds(static_cast<double>(last))) > 0) return std::nullopt;
  std::vector<double> blow;
  for (std::size_t k = first; k < last; ++k) blow.push_back(above(k));
  const double peak = *std::max_element(blow.begin(), blow.end());
  const auto place = back_extrapolated_start(blow, peak, kLow, kHigh);
  if (!place) return std::nullopt;
  // What the first touch looks like is not known: taken to a sample either side.
  return Instant{c.seconds(static_cast<double>(first) + *place), c.period() / std::sqrt(3.0), Spread::rectangular};
}

Made speed_from_flight(const Pulse& p, const TrialSetup& s) {
  if (!s.landing_height_metres) return absent("the setup states no landing height");
  // Left out, drag would bias the speed by about 1 % with nothing to say so.
  if (!s.coast) return absent("the setup states no drag (its coast table)");
  if (!(s.vehicle_mass_kg > 0.0)) return absent("the vehicle's mass in the setup is not positive");
  // Both ends on the accelerometer's own time: its lag and its place on the bench clock cancel.
  const double up = std::cos(s.tilt_radians);
  const auto landing = find_landing(*p.channel, *p.window, -kStandardGravity * up);
  if (!landing) return absent("no landing is seen in the acceleration");
  FreeFall fall;
  fall.mass_kg = s.vehicle_mass_kg;
  fall.landing_height_metres = *s.landing_height_metres;
  fall.drag_area_m2 = s.coast->drag_area_m2;
  fall.air_density_kg_per_m3 = s.coast->air_density_kg_per_m3;
  const double seconds = landing->seconds - p.separation.seconds;
  const auto rise = speed_of_flight(fall, seconds);
  if (!rise || !(up > 0.0)) return absent("no speed leads from separation to this landing");
  const auto change = [&](FreeFall other, double time) { return (speed_of_flight(other, time).value_or(*rise) - *rise) / up; };
  Number out{*rise / up, {}, "flight time from separation to landing at the setup's height, quadratic drag", false};
  constexpr double kStepSeconds = 1.0e-3, kStepMetres = 1.0e-2, kStepShare = 0.05;
  const double per_second = change(fall, seconds + kStepSeconds) / kStepSeconds;
  out.budget.add("landing in the accelerometer", landing->standard_uncertainty, "s", per_second, landing->spread);
  out.budget.add("separation in the accelerometer", p.separation.standard_uncertainty, "s", -per_second, p.separation.spread);
  FreeFall higher = fall, draggier = fall;
  higher.landing_height_metres += kStepMetres;
  out.budget.add("landing height", s.landing_height_standard_uncertainty_metres, "m", change(higher, seconds) / kStepMetres);
  draggier.drag_area_m2 *= 1.0 + kStepShare;
  const double per_share = change(draggier, seconds) / kStepShare;
  out.budget.add("drag area", s.coast->drag_area_relative_standard_uncertainty, "1", per_share);
  out.budget.add("air density", kAirRelativeStandardUncertainty, "1", per_share);
  return out;
}

}  // namespace coldstroke::analysis
