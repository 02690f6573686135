// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/control_chart.hpp"

#include <algorithm>
#include <array>
#include <boost/math/statistics/univariate_statistics.hpp>
#include <cmath>

#include "analysis/statistics/preconditions.hpp"

namespace coldstroke::analysis::statistics {

namespace {

constexpr auto kWhere = "control chart";
constexpr double kPairRangeToSigma = 1.128;  // d2 for two; exactly 2 / sqrt(pi) = 1.12838
constexpr double kPairRangeLimit = 3.267;    // D4 for two; exactly 3.26653

constexpr std::array kWesternElectric{RunRule::one_beyond_three_sigma, RunRule::two_of_three_beyond_two_sigma,
                                      RunRule::four_of_five_beyond_one_sigma, RunRule::eight_on_one_side};
constexpr std::array kNelson{RunRule::one_beyond_three_sigma,        RunRule::nine_on_one_side,
                             RunRule::six_steadily_up_or_down,       RunRule::fourteen_alternating,
                             RunRule::two_of_three_beyond_two_sigma, RunRule::four_of_five_beyond_one_sigma,
                             RunRule::fifteen_within_one_sigma,      RunRule::eight_beyond_one_sigma};

/// The last `length` of the values seen so far in standard deviations from the centre, or nothing while there are fewer.
using Window = std::span<const double>;

bool all_on_one_side(Window z) {
  return std::ranges::all_of(z, [](double x) { return x > 0.0; }) || std::ranges::all_of(z, [](double x) { return x < 0.0; });
}

bool steady(Window z) {
  bool up = true, down = true;
  for (std::size_t k = 1; k < z.size(); ++k) {
    up = up && z[k] > z[k - 1];
    down = down && z[k] < z[k - 1];
  }
  return up || down;
}

bool alternating(Window z) {
  for (std::size_t k = 2; k < z.size(); ++k)
    if ((z[k] - z[k - 1]) * (z[k - 1] - z[k - 2]) >= 0.0) return false;
  return true;
}

/// At least `many` of the window beyond `level` on the side on which its last point is beyond it.
bool many_beyond(Window z, std::ptrdiff_t many, double level) {
  if (std::abs(z.back()) <= level) return false;
  const double sign = z.back() > 0.0 ? 1.0 : -1.0;
  return std::ranges::count_if(z, [&](double x) { return sign * x > level; }) >= many;
}

bool beyond_on_both_sides(Window z) {
  return std::ranges::all_of(z, [](double x) { return std::abs(x) > 1.0; }) && !all_on_one_side(z);
}

std::size_t length_of(RunRule rule) {
  switch (rule) {
    case RunRule::one_beyond_three_sigma:
      return 1;
    case RunRule::nine_on_one_side:
      return 9;
    case RunRule::six_steadily_up_or_down:
      return 6;
    case RunRule::fourteen_alternating:
      return 14;
    case RunRule::two_of_three_beyond_two_sigma:
      return 2;  // two neighbours are enough; a third before them may be looked at
    case RunRule::four_of_five_beyond_one_sigma:
      return 4;
    case RunRule::fifteen_within_one_sigma:
      return 15;
    case RunRule::eight_beyond_one_sigma:
    case RunRule::eight_on_one_side:
      return 8;
  }
  return 1;
}

/// `seen`: all values up to the point that is judged.
bool met(RunRule rule, Window seen) {
  if (seen.size() < length_of(rule)) return false;
  const Window z = seen.last(length_of(rule));
  switch (rule) {
    case RunRule::one_beyond_three_sigma:
      return std::abs(z.back()) > 3.0;
    case RunRule::nine_on_one_side:
    case RunRule::eight_on_one_side:
      return all_on_one_side(z);
    case RunRule::six_steadily_up_or_down:
      return steady(z);
    case RunRule::fourteen_alternating:
      return alternating(z);
    case RunRule::two_of_three_beyond_two_sigma:
      return many_beyond(seen.last(std::min<std::size_t>(3, seen.size())), 2, 2.0);
    case RunRule::four_of_five_beyond_one_sigma:
      return many_beyond(seen.last(std::min<std::size_t>(5, seen.size())), 4, 1.0);
    case RunRule::fifteen_within_one_sigma:
      return std::ranges::all_of(z, [](double x) { return std::abs(x) < 1.0; });
    case RunRule::eight_beyond_one_sigma:
      return beyond_on_both_sides(z);
  }
  return false;
}

}  // namespace

const char* word(RunRule rule) {
  switch (rule) {
    case RunRule::one_beyond_three_sigma:
      return "one point beyond three sigma";
    case RunRule::nine_on_one_side:
      return "nine points on one side of the centre";
    case RunRule::six_steadily_up_or_down:
      return "six points steadily up or down";
    case RunRule::fourteen_alternating:
      return "fourteen points alternating up and down";
    case RunRule::two_of_three_beyond_two_sigma:
      return "two of three points beyond two sigma";
    case RunRule::four_of_five_beyond_one_sigma:
      return "four of five points beyond one sigma";
    case RunRule::fifteen_within_one_sigma:
      return "fifteen points within one sigma";
    case RunRule::eight_beyond_one_sigma:
      return "eight points beyond one sigma on both sides";
    case RunRule::eight_on_one_side:
      return "eight points on one side of the centre";
  }
  return "";
}

std::span<const RunRule> rules_of(RuleSet set) {
  if (set == RuleSet::western_electric) return kWesternElectric;
  return kNelson;
}

Result<std::vector<std::size_t>> points_signalled(std::span<const double> values, double centre, double sigma, RunRule rule) {
  if (const auto fault = unusable(values, 1, kWhere)) return refuse(*fault);
  if (!std::isfinite(centre) || !std::isfinite(sigma) || sigma <= 0.0)
    return complain("a centre or a sigma that cannot be", kWhere, "give a finite centre and a sigma above 0");
  std::vector<double> z(values.size());
  std::ranges::transform(values, z.begin(), [&](double x) { return (x - centre) / sigma; });
  std::vector<std::size_t> points;
  for (std::size_t k = 0; k < z.size(); ++k)
    if (met(rule, Window{z}.first(k + 1))) points.push_back(k);
  return points;
}

Result<ControlChart> control_chart(std::span<const double> values, RuleSet set, std::size_t baseline) {
  if (const auto fault = unusable(values, 3, kWhere)) return refuse(*fault);
  if (baseline > values.size() || baseline == 1 || baseline == 2)
    return complain("a baseline of " + std::to_string(baseline) + " of " + std::to_string(values.size()) + " values", kWhere,
                    "take three or more of the first values, or 0 for all");
  const std::span<const double> first = values.first(baseline == 0 ? values.size() : baseline);
  if (const auto fault = without_scatter(first, kWhere)) return refuse(*fault);
  ControlChart chart;
  for (std::size_t k = 1; k < values.size(); ++k) chart.moving_ranges.push_back(std::abs(values[k] - values[k - 1]));
  chart.centre = boost::math::statistics::mean(first.begin(), first.end());
  const auto ranges = std::span<const double>{chart.moving_ranges}.first(first.size() - 1);
  chart.mean_moving_range = boost::math::statistics::mean(ranges.begin(), ranges.end());
  chart.sigma = chart.mean_moving_range / kPairRangeToSigma;
  chart.lower_limit = chart.centre - 3.0 * chart.sigma;
  chart.upper_limit = chart.centre + 3.0 * chart.sigma;
  chart.moving_range_limit = kPairRangeLimit * chart.mean_moving_range;
  for (const RunRule rule : rules_of(set)) {
    const Result<std::vector<std::size_t>> points = points_signalled(values, chart.centre, chart.sigma, rule);
    if (!points) return refuse(points.error());
    for (const std::size_t point : *points) chart.signals.push_back({point, rule});
  }
  std::ranges::stable_sort(chart.signals, {}, &Signal::point);
  for (std::size_t k = 0; k < chart.moving_ranges.size(); ++k)
    if (chart.moving_ranges[k] > chart.moving_range_limit) chart.ranges_signalled.push_back(k + 1);
  return chart;
}

}  // namespace coldstroke::analysis::statistics
