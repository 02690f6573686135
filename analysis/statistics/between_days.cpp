// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/between_days.hpp"

#include <algorithm>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/statistics/univariate_statistics.hpp>
#include <cmath>
#include <iterator>

#include "analysis/statistics/preconditions.hpp"

namespace coldstroke::analysis::statistics {

namespace bm = boost::math;

namespace {

constexpr auto kWhere = "between-day comparison";

struct Squares {
  double between = 0.0, within = 0.0;
  std::size_t values = 0;
};

Squares squares_of(std::span<const std::vector<double>> groups) {
  std::vector<double> all;
  for (const auto& group : groups) all.insert(all.end(), group.begin(), group.end());
  const double grand = bm::statistics::mean(all);
  Squares out{.between = 0.0, .within = 0.0, .values = all.size()};
  for (const auto& group : groups) {
    const double mean = bm::statistics::mean(group);
    out.between += static_cast<double>(group.size()) * (mean - grand) * (mean - grand);
    for (const double x : group) out.within += (x - mean) * (x - mean);
  }
  return out;
}

Result<FTest> f_test(std::span<const std::vector<double>> groups, const Squares& squares) {
  FTest out{.f = 0.0, .between_freedom = groups.size() - 1, .within_freedom = squares.values - groups.size(), .p_value = 0.0};
  // Asked of the values themselves: a rounded mean leaves a speck of scatter in a group that has none.
  if (std::ranges::all_of(groups, [](const auto& group) { return without_scatter(group, kWhere).has_value(); }))
    return complain("no day scatters within itself, so there is nothing to measure by", kWhere,
                    "record more trials a day, or check the resolution of the channel");
  const auto between = static_cast<double>(out.between_freedom), within = static_cast<double>(out.within_freedom);
  out.f = (squares.between / between) / (squares.within / within);
  return guarded(kWhere, [&] {
    out.p_value = bm::cdf(bm::complement(bm::fisher_f{between, within}, out.f));
    return out;
  });
}

Description describe_group(const std::vector<double>& group) {
  if (group.size() > 1) return *describe(group);
  return {.count = 1, .mean = group[0], .standard_deviation = 0.0, .smallest = group[0], .median = group[0], .largest = group[0]};
}

/// Each value's distance to its group's median (Brown & Forsythe 1974): robust where Levene's own mean is not.
std::vector<std::vector<double>> distances(std::span<const std::vector<double>> groups) {
  std::vector<std::vector<double>> out;
  for (const auto& group : groups) {
    const double median = describe_group(group).median;
    auto& row = out.emplace_back();
    for (const double x : group) row.push_back(std::abs(x - median));
  }
  return out;
}

/// Between-day variance from the mean squares, with the mean group size of unequal groups.
double between_deviation(std::span<const std::vector<double>> groups, const FTest& test, const Squares& squares) {
  const auto values = static_cast<double>(squares.values);
  double size_squares = 0.0;
  for (const auto& group : groups) size_squares += static_cast<double>(group.size() * group.size());
  const double size = (values - size_squares / values) / static_cast<double>(test.between_freedom);
  const double within = squares.within / static_cast<double>(test.within_freedom);
  return std::sqrt(std::max(0.0, (squares.between / static_cast<double>(test.between_freedom) - within) / size));
}

}  // namespace

Result<BetweenDays> compare_days(std::span<const std::vector<double>> groups) {
  if (groups.size() < 2) return complain("fewer than two days", kWhere, "record trials on another day");
  for (const auto& group : groups)
    if (const auto fault = unusable(group, 1, kWhere)) return refuse(*fault);
  const Squares squares = squares_of(groups);
  if (squares.values <= groups.size())
    return complain("one trial a day shows no scatter within a day", kWhere, "record more a day");
  const Result<FTest> means = f_test(groups, squares);
  if (!means) return refuse(means.error());
  const std::vector<std::vector<double>> apart = distances(groups);
  std::vector<Description> described;
  std::ranges::transform(groups, std::back_inserter(described), describe_group);
  return BetweenDays{.groups = std::move(described),
                     .means = *means,
                     .between_squares = squares.between,
                     .within_squares = squares.within,
                     .within_deviation = std::sqrt(squares.within / static_cast<double>(means->within_freedom)),
                     .between_deviation = between_deviation(groups, *means, squares),
                     .scatters = f_test(apart, squares_of(apart))};
}

}  // namespace coldstroke::analysis::statistics
