// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/stroke_pulse.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace coldstroke::analysis {

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

}  // namespace coldstroke::analysis
