// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/flight/tip_off.hpp"

#include <algorithm>
#include <array>
#include <boost/math/distributions/non_central_chi_squared.hpp>
#include <cmath>
#include <cstdio>
#include <numeric>

#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/signal/integrate.hpp"
#include "analysis/trial/budget.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kRateSeconds = 20.0e-3;  // after separation: long enough to average noise, short for the turn to stay the same
constexpr double kRestSeconds = 0.2;

/// One lateral channel over the stroke: change from rest.
struct Axis {
  const Channel& channel;
  double rest = 0.0, rest_u = 0.0, noise = 0.0;
};

std::vector<Axis> axes(const std::vector<Channel>& channels, const Evidence& e, std::string& why) {
  std::vector<Axis> found;
  for (const Channel& channel : channels) {
    const double until = e.first_motion->seconds - 2.0e-3;
    const Level rest = channel.level_between(until - kRestSeconds, until);
    if (rest.count < 8) {
      why = "there is no reading at rest before the stroke in " + channel.trace().name;
      continue;
    }
    const double noise = channel.noise(rest.standard_deviation);
    found.push_back({channel, rest.mean, noise / std::sqrt(static_cast<double>(rest.count)), noise});
  }
  return found;
}

struct Turn {
  double rate = 0.0, rate_u = 0.0, angle = 0.0, angle_u = 0.0;
};

/// Turn of one axis from first motion to separation, and its rate just after; nothing if samples are lost there.
std::optional<Turn> turn_of(const Axis& axis, const Evidence& e) {
  const Channel& c = axis.channel;
  const double from = e.first_motion->seconds, to = e.separation->seconds;
  if (c.lost_between(from, to + kRateSeconds) > 0 || c.saturated_between(from, to + kRateSeconds) > 0) return std::nullopt;
  const Level after = c.level_between(to + c.period(), to + kRateSeconds);
  if (after.count < 3) return std::nullopt;
  std::vector<double> net;
  for (std::size_t i = c.at_or_after(from); i < c.at_or_after(to); ++i) net.push_back(c.values()[i] - axis.rest);
  if (net.size() < 3) return std::nullopt;
  Turn out;
  const auto n = static_cast<double>(after.count), length = to - from;
  const double gain = c.trace().gain_standard_uncertainty;
  out.rate = after.mean - axis.rest;
  out.rate_u = std::hypot(std::max(axis.noise, after.standard_deviation) / std::sqrt(n), axis.rest_u, gain * out.rate);
  // The trapezoid's ends lie up to a sample inside the stroke; they are carried on flat.
  out.angle =
      trapezoid(net, c.period()) + (length - c.period() * static_cast<double>(net.size() - 1)) * 0.5 * (net.front() + net.back());
  out.angle_u = std::sqrt(axis.noise * axis.noise * c.period() * length + std::pow(axis.rest_u * length, 2) +
                          std::pow(gain * out.angle, 2) + std::pow(out.rate * c.period(), 2) / 12.0);
  return out;
}

Metric made(const char* name, const char* unit, const char* method, const Budget& budget, double value, bool at_least = false) {
  Measured measured = budget.measured(value, at_least);
  measured.low_95 = std::max(0.0, measured.low_95);  // a size, not a direction
  return {name, unit, method, std::move(measured)};
}

void add_turn(const std::vector<Turn>& turns, const std::string& why, const TrialSetup& setup, std::optional<double> onset,
              double onset_u, TipOff& out) {
  static constexpr const char* kNames[] = {"tip_off_rate_radians_per_second", "tip_off_tilt_radians", "onset_tilt_radians"};
  if (turns.empty()) {
    for (const char* name : kNames) out.metrics.push_back({name, name == kNames[0] ? "rad/s" : "rad", "", Absent{why}});
    return;
  }
  double rate2 = 0.0, angle2 = 0.0;
  for (const Turn& t : turns) rate2 += t.rate * t.rate, angle2 += t.angle * t.angle;
  const double rate = std::sqrt(rate2), angle = std::sqrt(angle2);
  Budget rate_budget, angle_budget;
  for (std::size_t i = 0; i < turns.size(); ++i) {
    const Turn& t = turns[i];
    const std::string axis = i == 0 ? "first axis" : "second axis";
    // Near zero the size of a vector bends; an axis then counts in full.
    rate_budget.add("tilt rate, " + axis, t.rate_u, "rad/s", rate > t.rate_u ? std::abs(t.rate) / rate : 1.0);
    angle_budget.add("turn in the tube, " + axis, t.angle_u, "rad", angle > t.angle_u ? std::abs(t.angle) / angle : 1.0);
  }
  out.metrics.push_back(
      made(kNames[0], "rad/s", "mean of the 20 ms after separation, change from rest, axes as a vector", rate_budget, rate));
  const double tilt = std::abs(setup.tilt_radians) + angle;
  out.metrics.push_back(made(kNames[1], "rad", "the tube's tilt plus the turn from first motion to separation, at their worst",
                             angle_budget, tilt));
  if (!onset) {
    out.metrics.push_back({kNames[2], "rad", "", Absent{"the expected thrust onset is not known"}});
    return;
  }
  Budget onset_budget = angle_budget;
  onset_budget.add("tilt rate", rate_budget.standard_uncertainty(), "rad/s", std::max(0.0, *onset));
  onset_budget.add("thrust onset", onset_u, "s", rate);
  out.metrics.push_back(made(kNames[2], "rad", "tilt at exit plus rate at exit times the time to the expected thrust onset",
                             onset_budget, tilt + rate * std::max(0.0, *onset)));
}

/// Share of the push along the tube that a misaligned lateral axis sees.
struct Leak {
  double share = 0.0, standard_uncertainty = 0.0;
};

/// Least squares over the stroke, at most 5 %. What shakes the vehicle goes on for many samples, so the doubt is taken from the
/// scatter of the quarters of the stroke, not of the samples (batch means).
Leak leak_of(const Axis& axis, const Evidence& e) {
  if (!e.acceleration.usable()) return {};
  const Channel& along = *e.acceleration.channel;
  constexpr std::size_t kParts = 4;
  std::array<double, kParts> both{}, squares{};
  const std::size_t first = along.at_or_after(e.first_motion->seconds), last = along.at_or_after(e.separation->seconds);
  for (std::size_t i = first; i < last; ++i) {
    const double place = axis.channel.place(along.seconds(static_cast<double>(i)));
    if (place < 0.0 || place > static_cast<double>(axis.channel.size() - 1)) continue;
    const double a = along.values()[i] - e.acceleration.stroke->rest;
    const std::size_t part = kParts * (i - first) / (last - first);
    both[part] += a * (axis.channel.values()[static_cast<std::size_t>(std::lround(place))] - axis.rest);
    squares[part] += a * a;
  }
  const double all = std::accumulate(squares.begin(), squares.end(), 0.0);
  if (!(all > 0.0)) return {};
  const double share = std::accumulate(both.begin(), both.end(), 0.0) / all;
  double scatter = 0.0;  // each part counts by its weight in the whole
  for (std::size_t k = 0; k < kParts; ++k) scatter += std::pow((both[k] - share * squares[k]) / all, 2);
  return {std::clamp(share, -0.05, 0.05), std::sqrt(scatter * kParts / (kParts - 1.0))};
}

/// How much the largest of noisy sizes stands above the largest true one, and how it scatters.
struct Excess {
  double mean = 0.0, standard_deviation = 0.0;
};

/// Parametric bootstrap (Efron and Tibshirani 1993, chapter 10). In the place of the truth stand the readings, drawn in until
/// their mean square is the truth's, that of the readings less the noise's (Louis 1984, J. Am. Stat. Assoc. 79, 393): as read
/// they lie wider apart than the truth, and the largest would seem to owe less to noise than it does. Normal noise on each axis,
/// so a size squared is a non-central chi-squared variable of as many degrees of freedom as there are axes.
Excess excess_of_largest(const std::vector<double>& sizes, double noise, std::size_t axis_count) {
  if (sizes.empty() || !(noise > 0.0)) return {};
  const double square = std::inner_product(sizes.begin(), sizes.end(), sizes.begin(), 0.0) / static_cast<double>(sizes.size());
  const auto freedom = static_cast<double>(axis_count);
  const double draw = std::sqrt(std::max(0.0, 1.0 - freedom * noise * noise / square));
  const double top = draw * *std::max_element(sizes.begin(), sizes.end()) / noise;  // from here on in units of the noise
  constexpr double kReach = 7.0, kStep = 0.2;
  const double low = std::max(0.0, top - kReach);
  double above = 0.0, squares = 0.0;  // integrals of 1 - F and of 2 x (1 - F), from `low`
  for (double x = low + 0.5 * kStep; x < top + kReach; x += kStep) {
    double below = 1.0;
    for (const double size : sizes) {
      const double truth = draw * size / noise;
      if (truth < x - kReach) continue;
      below *= boost::math::cdf(boost::math::non_central_chi_squared{freedom, truth * truth}, x * x);
      if (below < 1.0e-9) break;
    }
    above += (1.0 - below) * kStep;
    squares += 2.0 * (x - low) * (1.0 - below) * kStep;
  }
  return {(low + above - top) * noise, std::sqrt(std::max(0.0, squares - above * above)) * noise};
}

void add_lateral(const std::vector<Axis>& lateral, const std::string& why, const TrialSetup& setup, const Evidence& e,
                 TipOff& out) {
  double at = 0.0, gain = 0.0, noise = 0.0;
  std::vector<Leak> leaks;
  leaks.reserve(lateral.size());
  for (const Axis& axis : lateral) leaks.push_back(leak_of(axis, e));
  const auto push = [&](double seconds) {
    if (!e.acceleration.usable()) return 0.0;
    const Channel& c = *e.acceleration.channel;
    const double there = std::clamp(c.place(seconds), 0.0, static_cast<double>(c.size() - 1));
    return c.values()[static_cast<std::size_t>(std::lround(there))] - e.acceleration.stroke->rest;
  };
  const auto net = [&](std::size_t k, double seconds) {
    const Axis& axis = lateral[k];
    const double place = axis.channel.place(seconds);
    if (place < 0.0 || place > static_cast<double>(axis.channel.size() - 1)) return 0.0;
    return axis.channel.values()[static_cast<std::size_t>(std::lround(place))] - axis.rest - leaks[k].share * push(seconds);
  };
  std::vector<double> sizes, times;
  if (!lateral.empty()) {
    const Channel& c = lateral.front().channel;
    for (std::size_t i = c.at_or_after(e.first_motion->seconds); i < c.at_or_after(e.separation->seconds); ++i) {
      times.push_back(c.seconds(static_cast<double>(i)));
      double squares = 0.0;
      for (std::size_t k = 0; k < lateral.size(); ++k) squares += std::pow(net(k, times.back()), 2);
      sizes.push_back(std::sqrt(squares));
    }
    for (const Axis& axis : lateral) {
      gain = std::max(gain, axis.channel.trace().gain_standard_uncertainty);
      noise = std::max(noise, axis.noise);
    }
  }
  if (sizes.size() < 3) {
    out.metrics.push_back({"lateral_peak_g", "g", "", Absent{why}});
    return;
  }
  // What was lost or clipped may have stood higher.
  const bool open = std::ranges::any_of(lateral, [&](const Axis& axis) {
    const double from = e.first_motion->seconds, to = e.separation->seconds;
    return axis.channel.lost_between(from, to) > 0 || axis.channel.saturated_between(from, to) > 0;
  });
  const auto top = static_cast<std::size_t>(std::max_element(sizes.begin(), sizes.end()) - sizes.begin());
  at = times[top];
  const Excess excess = excess_of_largest(sizes, noise, lateral.size());
  // A parabola's top lies anywhere between half a sample before and half a sample after the largest one.
  const std::size_t middle = std::clamp<std::size_t>(top, 1, sizes.size() - 2);
  const double raised = middle == top ? excess.mean : 0.0;  // by having been picked, which its neighbours were not
  const double bend = std::max(0.0, 2.0 * (sizes[middle] - raised) - sizes[middle - 1] - sizes[middle + 1]);
  const double peak = std::max(0.0, sizes[top] - excess.mean + bend / 24.0);
  Budget budget;
  budget.add("lateral accelerometer gain", gain, "1", peak / kStandardGravity);
  // A largest sample that noise has put up by chance also looks as if it owed less to noise: the correction goes against it.
  const auto corrected = [&](double shift) {
    std::vector<double> shifted = sizes;
    shifted[top] += shift;
    return shifted[top] - excess_of_largest(shifted, noise, lateral.size()).mean;
  };
  const double step = excess.standard_deviation;
  budget.add("lateral sample noise", step, "m/s2",
             step > 0.0 ? (corrected(step) - corrected(-step)) / (2.0 * step) / kStandardGravity : 0.0);
  budget.add("top between samples", 0.5 * bend * std::sqrt(1.0 / 80.0 - 1.0 / 144.0), "m/s2", 1.0 / kStandardGravity);
  for (std::size_t k = 0; k < lateral.size(); ++k)
    budget.add("share of the push, " + lateral[k].channel.trace().name, leaks[k].standard_uncertainty, "1",
               push(at) * std::abs(net(k, at)) / std::max(sizes[top], 1.0e-9) / kStandardGravity);
  out.metrics.push_back(made("lateral_peak_g", "g",
                             "largest change from rest across the tube, first motion to separation, less the share of the push "
                             "that a misaligned axis sees and what noise adds to the largest of many samples",
                             budget, peak / kStandardGravity, open));
  if (!setup.tip_off || !(setup.tip_off->wall_contact_mps2 > 0.0) || peak < setup.tip_off->wall_contact_mps2 + 3.0 * noise)
    return;
  char text[200];
  std::snprintf(text, sizeof text,
                "%.3g g across the tube %.3g ms after first motion, more than the %.3g g of the setup: the "
                "vehicle may have touched the wall.",
                peak / kStandardGravity, (at - e.first_motion->seconds) * 1.0e3,
                setup.tip_off->wall_contact_mps2 / kStandardGravity);
  out.findings.push_back({"wall_contact", lateral.front().channel.trace().name, text});
}

}  // namespace

TipOff tip_off_of(const TrialSetup& setup, const Evidence& evidence, std::optional<double> onset_seconds,
                  double onset_standard_uncertainty_seconds) {
  TipOff out;
  std::string no_rate = evidence.no_tilt_rate, no_lateral = evidence.no_lateral;
  std::vector<Turn> turns;
  std::vector<Axis> lateral;
  if (!evidence.first_motion || !evidence.separation) {
    no_rate = no_lateral = evidence.no_stroke;
  } else {
    for (const Axis& axis : axes(evidence.tilt_rates, evidence, no_rate)) {
      const auto turn = turn_of(axis, evidence);
      if (turn) turns.push_back(*turn);
      if (!turn) no_rate = "the tilt rate is lost, clipped or ends round the exit";
    }
    lateral = axes(evidence.lateral, evidence, no_lateral);
  }
  add_turn(turns, no_rate, setup, onset_seconds, onset_standard_uncertainty_seconds, out);
  add_lateral(lateral, no_lateral, setup, evidence, out);
  return out;
}

}  // namespace coldstroke::analysis
