// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/stroke_pulse.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/constants/constants.hpp>
#include <cmath>
#include <vector>

#include "analysis/signal/edge.hpp"

namespace coldstroke::analysis {
namespace {

/// How the samples run where a level is crossed: rise a sample, and the largest second difference beside it.
struct Crossing {
  double slope, bend;
};
Crossing crossing_of(const std::vector<double>& y, double place) {
  const std::size_t i = std::min(static_cast<std::size_t>(place), y.size() - 2);
  Crossing out{y[i + 1] - y[i], 0.0};
  for (const std::size_t k : {i, i + 1})
    if (k > 0 && k + 1 < y.size()) out.bend = std::max(out.bend, std::abs(y[k - 1] - 2.0 * y[k] + y[k + 1]));
  return out;
}

/// Standard uncertainty that a cell's ring leaves on a value at `place`: amplitude over the root of two of a sine of the cell's
/// frequency, fitted with a parabola to the period on either side; its phase is not trusted. What noise alone would give is taken
/// off. 0 where the period has too few samples to show it.
double ring_at(const std::vector<double>& y, double place, double samples_a_period, double noise) {
  const double first = std::max(0.0, std::ceil(place - samples_a_period)),
               last = std::min(static_cast<double>(y.size()) - 1.0, std::floor(place + samples_a_period));
  constexpr Eigen::Index kColumns = 5;
  if (!(samples_a_period > 2.5) || last - first < static_cast<double>(kColumns)) return 0.0;
  const auto rows = static_cast<Eigen::Index>(last - first) + 1;
  Eigen::MatrixXd columns(rows, kColumns);
  Eigen::VectorXd values(rows);
  for (Eigen::Index i = 0; i < rows; ++i) {
    const double at = first + static_cast<double>(i), x = (at - place) / samples_a_period;
    const double angle = boost::math::constants::two_pi<double>() * x;
    columns.row(i) << 1.0, x, x * x, std::cos(angle), std::sin(angle);
    values(i) = y[static_cast<std::size_t>(at)];
  }
  const Eigen::VectorXd fitted = columns.colPivHouseholderQr().solve(values);
  const double square = fitted(3) * fitted(3) + fitted(4) * fitted(4);
  return std::sqrt(0.5 * std::max(0.0, square - 4.0 * noise * noise / static_cast<double>(rows)));
}

}  // namespace

Pulse pulse_of(const Channel& channel, const StrokeWindow& w, std::string name) {
  Pulse out;
  out.channel = &channel;
  out.window = &w;
  out.first_motion = w.first_motion;
  out.separation = w.separation;
  const double begin = w.first_motion.seconds, end = w.separation.seconds;
  out.duration = end - begin;
  out.start_value = w.start_value;
  out.end_value = w.end_value;
  out.name = std::move(name);
  std::vector<Knot> knots{{begin, w.start_value}};
  for (std::size_t i = channel.at_or_after(begin); i < std::min(w.fall_index, channel.size()); ++i) {
    const double t = channel.seconds(static_cast<double>(i));
    // The instants are free of the sensor's lag; its samples are put where they belong.
    if (t - w.lag_seconds > knots.back().seconds) knots.push_back({t - w.lag_seconds, channel.values()[i] - w.rest});
  }
  knots.push_back({end, w.end_value});
  out.integral = integrate(knots);
  out.bridged = channel.bridging_uncertainty(begin, end);
  out.clipped = channel.saturated_between(begin, end) > 0;
  return out;
}

Budget integral_budget(const Pulse& p, const char* unit) {
  Budget out;
  const double count = p.duration / p.channel->period();
  out.add(p.name + " gain", p.channel->trace().gain_standard_uncertainty, "1", p.integral.first);
  out.add(p.name + " reading at rest", p.window->rest_standard_uncertainty, unit, p.duration);
  out.add(p.name + " sample noise", p.window->noise, unit, p.channel->period() * std::sqrt(std::max(1.0, count)));
  out.add("separation in the " + p.name, p.separation.standard_uncertainty, "s", p.end_value, p.separation.spread);
  out.add("first motion in the " + p.name, p.first_motion.standard_uncertainty, "s", -p.start_value, p.first_motion.spread);
  out.add(p.name + " lost samples", p.bridged, std::string{unit} + " s", 1.0);
  return out;
}

PeakHeight peak_of(const Pulse& p, double natural_frequency_hz) {
  const std::size_t first = p.channel->at_or_after(p.first_motion.seconds);
  const std::size_t last = std::max(first + 1, std::min(p.window->fall_index, p.channel->size()));
  std::vector<double> net;
  for (std::size_t i = first; i < last && i < p.channel->size(); ++i) net.push_back(p.channel->values()[i] - p.window->rest);
  if (net.empty()) net.push_back(p.window->peak);
  // Wide enough that the parabola averages the sensor's ring out: its answer to a sine is zero at 0.8 of a period either side.
  const double seconds = natural_frequency_hz > 0.0 ? 0.8 / natural_frequency_hz : 0.3e-3;
  const std::size_t half = std::min(p.channel->count_in(std::min(seconds, 1.0e-3), 1), (net.size() - 1) / 4);
  PeakHeight out = peak_height(net, half, p.window->noise);
  if (p.window->abrupt && p.end_value > out.height + 3.0 * p.window->noise) {  // still rising when it left
    out.height = p.end_value;
    out.place = static_cast<double>(net.size()) - 1.0;
  }
  out.place += static_cast<double>(first);
  return out;
}

bool peak_may_be_lost(const Pulse& p, const PeakHeight& peak) {
  for (const IndexRun& run : p.channel->trace().missing) {
    const double from = p.channel->seconds(static_cast<double>(run.first)),
                 to = p.channel->seconds(static_cast<double>(run.last));
    if (to < p.first_motion.seconds || from > p.separation.seconds) continue;
    const std::size_t left = run.first > 0 ? run.first - 1 : 0, right = std::min(run.last, p.channel->size() - 1);
    const double beside = std::max(p.channel->values()[left], p.channel->values()[right]) - p.window->rest;
    if (beside > 0.8 * peak.height) return true;
  }
  return false;
}

void add_peak(Budget& budget, const Pulse& p, const PeakHeight& peak, double factor, const char* unit) {
  budget.add(p.name + " gain", p.channel->trace().gain_standard_uncertainty, "1", factor * peak.height);
  budget.add(p.name + " reading at rest", p.window->rest_standard_uncertainty, unit, factor);
  budget.add(p.name + " noise at the peak", peak.noise_uncertainty, unit, factor);
  budget.add(p.name + " ring and shape at the peak", peak.shape_uncertainty, unit, factor);
}

Made rise_time_of(const Pulse& p, double natural_frequency_hz) {
  if (p.clipped) return absent("the pulse is clipped, so its peak is not known");
  const Channel& c = *p.channel;
  const PeakHeight peak = peak_of(p, natural_frequency_hz);
  const std::size_t first = c.at_or_after(p.first_motion.seconds), last = std::min(p.window->fall_index, c.size());
  if (last <= first + 3) return absent("too few samples in the stroke");
  std::vector<double> net;
  for (std::size_t i = first > 0 ? first - 1 : 0; i < last; ++i) net.push_back(c.values()[i] - p.window->rest);
  const auto low = rising_crossing(net, 0.1 * peak.height), high = rising_crossing(net, 0.9 * peak.height);
  if (!low || !high || !(*high > *low)) return absent("the force does not rise through 10 and 90 % of its peak");
  if (c.lost_between(p.first_motion.seconds, c.seconds(static_cast<double>(first) + *high)) > 0)
    return absent("samples were lost in the rise");
  Number out{
      (*high - *low) * c.period(), {}, "10 to 90 % of the net peak force, first crossings in the unfiltered samples", false};
  const Crossing at_low = crossing_of(net, *low), at_high = crossing_of(net, *high);
  const double per_low = c.period() / at_low.slope, per_high = c.period() / at_high.slope;
  // A value between two samples has two thirds of a sample's variance, as the mean over all places between them.
  out.budget.add("force cell sample noise", p.window->noise, "N", std::sqrt(2.0 / 3.0) * std::hypot(per_low, per_high));
  // A straight line between samples misses a parabola by up to an eighth of the second difference.
  out.budget.add("course between samples, at 10 %", at_low.bend / 8.0 / std::sqrt(3.0), "N", per_low, Spread::rectangular);
  out.budget.add("course between samples, at 90 %", at_high.bend / 8.0 / std::sqrt(3.0), "N", per_high, Spread::rectangular);
  if (natural_frequency_hz > 0.0) {
    const double samples_a_period = 1.0 / (natural_frequency_hz * c.period());
    out.budget.add("force cell ring at 10 %", ring_at(net, *low, samples_a_period, p.window->noise), "N", per_low);
    out.budget.add("force cell ring at 90 %", ring_at(net, *high, samples_a_period, p.window->noise), "N", per_high);
  }
  const double per_peak = 0.9 * per_high - 0.1 * per_low;
  out.budget.add("force cell noise at the peak", peak.noise_uncertainty, "N", per_peak);
  out.budget.add("force cell ring and shape at the peak", peak.shape_uncertainty, "N", per_peak);
  out.budget.add("force cell reading at rest", p.window->rest_standard_uncertainty, "N", 0.1 * per_high - 0.9 * per_low);
  return out;
}

}  // namespace coldstroke::analysis
