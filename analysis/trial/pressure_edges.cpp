// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/pressure_edges.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "analysis/signal/clock_exchange.hpp"
#include "analysis/signal/state_levels.hpp"
#include "analysis/trial/supply.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kAfterSeconds = 150.0e-3, kLowestSeconds = 5.0e-3;
constexpr double kSlopeSeconds = 0.25e-3;  // either side of a crossing
constexpr double kLeastSwing = 20.0;       // between the states, in standard deviations of a sample

/// Of a state's level, Pa.
struct LevelDoubt {
  double standard_uncertainty = 0.0;
  Spread spread = Spread::normal;
};

/// A transition with all that its instants' uncertainties need. Levels in Pa.
struct PressureEdge {
  const Channel* channel;
  std::size_t first;  ///< sample that the transition's places count from
  Transition way;
  double slope_10, slope_50, slope_90;  ///< Pa/s
  double bend;                          ///< p''/p' at the 90 % crossing less that at the 10 % crossing, 1/s
  double noise;                         ///< of one sample
  [[nodiscard]] double seconds(double place) const { return channel->seconds(static_cast<double>(first) + place); }
  [[nodiscard]] double duration_seconds() const { return way.duration() * channel->period(); }
};

/// By a straight line through the samples about a crossing.
double slope_at(const Channel& c, double place) {
  const std::size_t half = c.count_in(kSlopeSeconds, 2), at = static_cast<std::size_t>(place);
  std::vector<double> x, y;
  for (std::size_t i = at > half ? at - half : 0; i < std::min(c.size(), at + half + 2); ++i) {
    x.push_back(c.seconds(static_cast<double>(i)) - c.seconds(place));
    y.push_back(c.values()[i]);
  }
  const auto line = fit_line(x, y);
  return line ? line->slope : 0.0;
}

/// Second over first derivative.
double bend_at(const Channel& c, double place, double slope) {
  const double step = kSlopeSeconds / c.period();
  return (slope_at(c, place + step) - slope_at(c, place - step)) / (2.0 * kSlopeSeconds * slope);
}

Result<PressureEdge, Absent> edge_in(const Channel& c, std::size_t first, std::size_t last, const StateLevels& levels,
                                     double noise, const std::string& what) {
  if (!(levels.high - levels.low > kLeastSwing * noise)) return absent("the " + what + " hardly changed after the release");
  const auto way = first_transition(c.values().subspan(first, last - first), levels);
  if (!way) return absent("the " + what + " does not go from one state to the other");
  PressureEdge out{&c, first, *way, 0.0, 0.0, 0.0, 0.0, noise};
  const auto from = static_cast<double>(first);
  if (c.saturated_between(out.seconds(0.0), c.seconds(static_cast<double>(last))) > 0)
    return absent("the " + what + " clipped, so its states are not known");
  if (c.lost_between(out.seconds(way->at_10) - kSlopeSeconds, out.seconds(way->at_90) + kSlopeSeconds) > 0)
    return absent("samples of the " + what + " were lost on the edge");
  out.slope_10 = slope_at(c, from + way->at_10);
  out.slope_50 = slope_at(c, from + way->at_50);
  out.slope_90 = slope_at(c, from + way->at_90);
  const double sign = way->rising ? 1.0 : -1.0;
  if (!(sign * out.slope_10 > 0.0) || !(sign * out.slope_50 > 0.0) || !(sign * out.slope_90 > 0.0))
    return absent("the " + what + " comes and goes on its edge, so the instants are not clear");
  out.bend = bend_at(c, from + way->at_90, out.slope_90) - bend_at(c, from + way->at_10, out.slope_10);
  return out;
}

/// A level that lies higher puts a crossing later by its share over the slope. What both crossings have in common cancels: gain,
/// zero, and of a lag T what is first order in it. A single pole makes y = p - T p' + T^2 p'' - ... of the pressure, so that a
/// crossing comes later by T - (T^2 / 2) p''/p'.
Number duration_of(const PressureEdge& edge, const LevelDoubt& first_state, const LevelDoubt& second_state, std::string method) {
  constexpr double kMostLag = 2.0 * kTransducerLagSeconds;
  constexpr double kMeanSquare = kMostLag * kMostLag / 3.0;  // of a lag that lies anywhere up to the most
  const double spread_of_square = kMostLag * kMostLag * std::sqrt(1.0 / 5.0 - 1.0 / 9.0);
  Number out{edge.duration_seconds() + 0.5 * kMeanSquare * edge.bend, {}, std::move(method), false};
  out.budget.add("lag of the pressure transducer, squared", spread_of_square, "s2", 0.5 * edge.bend);
  out.budget.add("level of the first state", first_state.standard_uncertainty, "Pa", 0.1 / edge.slope_90 - 0.9 / edge.slope_10,
                 first_state.spread);
  out.budget.add("level of the second state", second_state.standard_uncertainty, "Pa", 0.9 / edge.slope_90 - 0.1 / edge.slope_10,
                 second_state.spread);
  out.budget.add("sample noise at the 10 % crossing", edge.noise, "Pa", -1.0 / edge.slope_10);
  out.budget.add("sample noise at the 90 % crossing", edge.noise, "Pa", 1.0 / edge.slope_90);
  return out;
}

/// The first and the one after the last sample between two times, at least eight, or nothing.
std::optional<std::pair<std::size_t, std::size_t>> samples_between(const Channel& c, double from, double to) {
  const std::size_t first = c.at_or_after(from), last = c.at_or_after(to);
  if (last < first + 8) return std::nullopt;
  return std::pair{first, last};
}

/// End of the lowest mean of 5 ms from a sample on, within 150 ms.
std::optional<std::size_t> end_of_fall(const Channel& c, double separation) {
  const auto range = samples_between(c, separation, separation + kAfterSeconds);
  if (!range) return std::nullopt;
  const auto values = c.values().subspan(range->first, range->second - range->first);
  const std::size_t count = c.count_in(kLowestSeconds, 3);
  if (values.size() < count) return std::nullopt;
  double sum = std::accumulate(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(count), 0.0), least = sum;
  std::size_t end = count;
  for (std::size_t i = count; i < values.size(); ++i) {
    sum += values[i] - values[i - count];
    if (sum < least) least = sum, end = i + 1;
  }
  return range->first + end;
}

/// Of the samples no further from a bin's centre than half its width; of an empty bin its centre.
double mean_within(std::span<const double> values, double centre, double half_width) {
  double sum = 0.0;
  std::size_t count = 0;
  for (const double value : values)
    if (std::abs(value - centre) <= half_width) sum += value, ++count;
  return count > 0 ? sum / static_cast<double>(count) : centre;
}

/// The lowest is no state to stand still in: half the range that the pressure goes through in those 5 ms, by its means over 1 ms.
double movement_before(const Channel& c, std::size_t end) {
  const std::size_t count = c.count_in(1.0e-3, 1), pieces = c.count_in(kLowestSeconds, 3) / count;
  double low = INFINITY, high = -INFINITY;
  for (std::size_t k = 1; k <= pieces; ++k) {
    const double mean = level(c.values().subspan(end - k * count, count)).mean;
    low = std::min(low, mean);
    high = std::max(high, mean);
  }
  return pieces > 1 ? 0.5 * (high - low) : 0.0;
}

struct ChamberEdge {
  PressureEdge edge;
  LevelDoubt rest, peak;
};

Result<ChamberEdge, Absent> chamber_edge(const Evidence& e, std::optional<double> release) {
  if (!e.chamber) return absent(e.chamber.error().reason);
  if (!release && !e.first_motion) return absent(e.no_stroke);
  const Channel& c = *e.chamber;
  const double until = quiet_until_seconds(e, release);
  const Level rest = c.level_between(until - kBeforeReleaseSeconds, until);
  if (rest.count < 3) return absent("no chamber pressure was recorded before the release");
  const auto range =
      samples_between(c, until - kBeforeReleaseSeconds, e.separation ? e.separation->seconds : until + kAfterSeconds);
  if (!range) return absent("the chamber pressure was not recorded after the release");
  const auto values = c.values().subspan(range->first, range->second - range->first);
  const double peak = *std::ranges::max_element(values), noise = c.noise(rest.standard_deviation);
  auto edge = edge_in(c, range->first, range->second, {rest.mean, peak}, noise, "chamber pressure");
  if (!edge) return tl::unexpected<Absent>{edge.error()};
  // The highest of samples lies above the peak by up to its noise.
  return ChamberEdge{*edge, {noise / std::sqrt(static_cast<double>(rest.count))}, {noise}};
}

}  // namespace

Made supply_fall_of(const Evidence& e, std::optional<double> release) {
  const auto before = supply_before_release(e, release);
  if (!before) return tl::unexpected<Absent>{before.error()};
  if (!e.separation) return absent(e.no_stroke);
  const Channel& c = *e.supply;
  const auto end = end_of_fall(c, e.separation->seconds);
  if (!end) return absent("the supply pressure was not recorded long enough after separation");
  const std::size_t first = c.at_or_after(before->until_seconds - kBeforeReleaseSeconds);
  const auto values = c.values().subspan(first, *end - first);
  const double noise = c.noise(before->level.standard_deviation);
  const auto [lowest, highest] = std::ranges::minmax(values);
  if (!(highest > lowest)) return absent("the supply pressure has no two states");
  // Bins as narrow as the noise lets them fill, so that a bin's centre is close to its state.
  const double bins = std::clamp((highest - lowest) / (2.0 * noise), 100.0, 2000.0);
  auto levels = state_levels(values, static_cast<std::size_t>(bins));
  if (!levels) return absent("the supply pressure has no two states");
  const double bin = 0.5 * (highest - lowest) / std::floor(bins);
  // Both states lie at an end of the histogram, and so at an edge of their bins: the samples' mean there, not the bin's centre.
  levels->high = mean_within(values, levels->high, bin);
  levels->low = mean_within(values, levels->low, bin);
  auto edge = edge_in(c, first, *end, *levels, noise, "supply pressure");
  if (!edge) return tl::unexpected<Absent>{edge.error()};
  if (edge->way.rising) return absent("the supply pressure did not fall");
  const double moves = movement_before(c, *end);
  return duration_of(*edge, {bin / std::sqrt(3.0), Spread::rectangular},
                     {std::max(bin, moves) / std::sqrt(3.0), Spread::rectangular},
                     "supply pressure, 10 to 90 % of its fall between its two states (IEEE 181, histogram)");
}

Made chamber_rise_of(const Evidence& e, std::optional<double> release) {
  const auto made = chamber_edge(e, release);
  if (!made) return tl::unexpected<Absent>{made.error()};
  return duration_of(made->edge, made->rest, made->peak,
                     "chamber pressure, 10 to 90 % of the way from its level before the release to its peak (IEEE 181)");
}

Made valve_delay_of(const Evidence& e, std::optional<double> release) {
  if (!release) return absent("the release command is not in the record");
  const auto made = chamber_edge(e, release);
  if (!made) return tl::unexpected<Absent>{made.error()};
  const PressureEdge& edge = made->edge;
  Number out{edge.seconds(edge.way.at_50) - kTransducerLagSeconds - *release,
             {},
             "release command to the middle of the chamber pressure's rise (IEEE 181)",
             false};
  out.budget.add("level before the release", made->rest.standard_uncertainty, "Pa", 0.5 / edge.slope_50);
  out.budget.add("peak", made->peak.standard_uncertainty, "Pa", 0.5 / edge.slope_50);
  out.budget.add("sample noise at the 50 % crossing", edge.noise, "Pa", 1.0 / edge.slope_50);
  out.budget.add("lag of the pressure transducer", kTransducerLagSeconds / std::sqrt(3.0), "s", -1.0, Spread::rectangular);
  return out;
}

}  // namespace coldstroke::analysis
