// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/sample.hpp"

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/statistics/univariate_statistics.hpp>
#include <cmath>
#include <numeric>

#include "analysis/statistics/preconditions.hpp"

namespace coldstroke::analysis::statistics {

namespace bm = boost::math;

Result<Description> describe(std::span<const double> values) {
  if (const auto fault = unusable(values, 2, "mean and scatter")) return refuse(*fault);
  std::vector<double> sorted{values.begin(), values.end()};
  std::ranges::sort(sorted);
  const std::size_t n = sorted.size();
  const double mean = bm::statistics::mean(values.begin(), values.end());
  // Two passes, the second corrected for the rounding of the mean: on NIST Michelso that keeps 13.8 certified digits, all
  // that the stored values have, where an updating formula keeps 12.4.
  double squares = 0.0, rest = 0.0;
  for (const double x : values) {
    squares += (x - mean) * (x - mean);
    rest += x - mean;
  }
  const double variance = std::max(0.0, (squares - rest * rest / static_cast<double>(n)) / (static_cast<double>(n) - 1.0));
  return Description{.count = n,
                     .mean = mean,
                     .standard_deviation = std::sqrt(variance),
                     .smallest = sorted.front(),
                     .median = n % 2 == 1 ? sorted[n / 2] : 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]),
                     .largest = sorted.back()};
}

Result<Interval> mean_interval(std::span<const double> values, double confidence) {
  constexpr auto kWhere = "confidence interval of a mean";
  if (const auto fault = first_fault({unusable(values, 2, kWhere), not_between_zero_and_one(confidence, "confidence", kWhere),
                                      without_scatter(values, kWhere)}))
    return refuse(*fault);
  const Result<Description> d = describe(values);
  const auto n = static_cast<double>(d->count);
  return guarded(kWhere, [&] {
    const double half = bm::quantile(bm::students_t{n - 1.0}, 0.5 * (1.0 + confidence)) * d->standard_deviation / std::sqrt(n);
    return Interval{d->mean - half, d->mean + half, confidence};
  });
}

Result<Interval> deviation_interval(std::span<const double> values, double confidence) {
  constexpr auto kWhere = "confidence interval of a standard deviation";
  if (const auto fault = first_fault({unusable(values, 2, kWhere), not_between_zero_and_one(confidence, "confidence", kWhere),
                                      without_scatter(values, kWhere)}))
    return refuse(*fault);
  const Result<Description> d = describe(values);
  const double freedom = static_cast<double>(d->count) - 1.0;
  return guarded(kWhere, [&] {
    const bm::chi_squared chi{freedom};
    const double tail = 0.5 * (1.0 - confidence);
    return Interval{d->standard_deviation * std::sqrt(freedom / bm::quantile(bm::complement(chi, tail))),
                    d->standard_deviation * std::sqrt(freedom / bm::quantile(chi, tail)), confidence};
  });
}

Result<double> lag_one_autocorrelation(std::span<const double> values) {
  constexpr auto kWhere = "lag-one autocorrelation";
  if (const auto fault = first_fault({unusable(values, 3, kWhere), without_scatter(values, kWhere)})) return refuse(*fault);
  const double mean = bm::statistics::mean(values.begin(), values.end());
  double products = 0.0, squares = 0.0;
  for (std::size_t k = 0; k < values.size(); ++k) {
    const double here = values[k] - mean;
    squares += here * here;
    if (k > 0) products += here * (values[k - 1] - mean);
  }
  return products / squares;
}

Ranking rank(std::span<const double> values) {
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::sort(order, {}, [&](std::size_t k) { return values[k]; });
  Ranking out;
  out.ranks.resize(values.size());
  for (std::size_t first = 0; first < order.size();) {
    std::size_t end = first + 1;
    while (end < order.size() && values[order[end]] == values[order[first]]) ++end;
    const auto ties = static_cast<double>(end - first);
    for (std::size_t k = first; k < end; ++k) out.ranks[order[k]] = static_cast<double>(first + end + 1) / 2.0;
    out.tie_sum += ties * ties * ties - ties;
    first = end;
  }
  return out;
}

}  // namespace coldstroke::analysis::statistics
