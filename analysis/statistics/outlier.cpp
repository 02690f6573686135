// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/outlier.hpp"

#include <algorithm>
#include <array>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <numeric>

#include "analysis/statistics/preconditions.hpp"
#include "analysis/statistics/sample.hpp"

namespace coldstroke::analysis::statistics {

namespace bm = boost::math;

namespace {

/// How far a value lies out on the side that is asked for, in standard deviations.
double distance(double x, const Description& d, OutlierSide side) {
  const double z = (x - d.mean) / d.standard_deviation;
  if (side == OutlierSide::largest) return z;
  return side == OutlierSide::smallest ? -z : std::abs(z);
}

std::size_t furthest(std::span<const double> values, const Description& d, OutlierSide side) {
  const auto found = std::ranges::max_element(values, {}, [&](double x) { return distance(x, d, side); });
  return static_cast<std::size_t>(found - values.begin());
}

double critical_value(double n, double tail) {
  const double t = bm::quantile(bm::complement(bm::students_t{n - 2.0}, tail));
  return (n - 1.0) / std::sqrt(n) * std::sqrt(t * t / (n - 2.0 + t * t));
}

}  // namespace

Result<double> grubbs_critical(std::size_t n, OutlierSide side, double significance) {
  constexpr auto kWhere = "outlier test (Grubbs)";
  if (const auto fault = not_between_zero_and_one(significance, "significance", kWhere)) return refuse(*fault);
  if (n < 3) return complain("fewer than three values", kWhere, "record more trials");
  return guarded(kWhere, [&] {
    const auto count = static_cast<double>(n);
    return critical_value(count, significance / (side == OutlierSide::either ? 2.0 * count : count));
  });
}

Result<GrubbsTest> grubbs(std::span<const double> values, OutlierSide side, double significance) {
  constexpr auto kWhere = "outlier test (Grubbs)";
  if (const auto fault = first_fault({unusable(values, 3, kWhere), without_scatter(values, kWhere)})) return refuse(*fault);
  const Result<double> critical = grubbs_critical(values.size(), side, significance);
  if (!critical) return refuse(critical.error());
  const Description d = *describe(values);
  GrubbsTest out;
  out.suspect = furthest(values, d, side);
  out.statistic = distance(values[out.suspect], d, side);
  out.critical = *critical;
  out.flagged = out.statistic > out.critical;
  return out;
}

Result<ExtremeDeviates> extreme_deviates(std::span<const double> values, std::size_t most, double significance) {
  constexpr auto kWhere = "outlier test (extreme studentised deviates)";
  if (const auto fault = first_fault({not_between_zero_and_one(significance, "significance", kWhere), unusable(values, 3, kWhere),
                                      without_scatter(values, kWhere)}))
    return refuse(*fault);
  if (most == 0 || most > values.size() - 2)
    return complain("looks for " + std::to_string(most) + " outliers in " + std::to_string(values.size()) + " values", kWhere,
                    "look for 1 to n - 2, better for no more than a quarter of them");
  std::vector<double> left{values.begin(), values.end()};
  std::vector<std::size_t> places(values.size());
  std::iota(places.begin(), places.end(), std::size_t{0});
  ExtremeDeviates out;
  for (std::size_t step = 0; step < most; ++step) {
    if (without_scatter(left, kWhere)) break;  // what is left is all the same: nothing in it stands apart
    const Description d = *describe(left);
    const std::size_t at = furthest(left, d, OutlierSide::either);
    const auto n = static_cast<double>(left.size());
    const Result<double> critical = guarded(kWhere, [&] { return critical_value(n, significance / (2.0 * n)); });
    if (!critical) return refuse(critical.error());
    out.steps.push_back({places[at], distance(left[at], d, OutlierSide::either), *critical});
    if (out.steps.back().statistic > *critical) out.flagged = step + 1;
    left.erase(left.begin() + static_cast<std::ptrdiff_t>(at));
    places.erase(places.begin() + static_cast<std::ptrdiff_t>(at));
  }
  return out;
}

Result<DixonTest> dixon(std::span<const double> values) {
  constexpr auto kWhere = "outlier test (Dixon)";
  // Rorabacher, Analytical Chemistry 63 (1991) 139, ratio r10, two-sided 10, 5 and 1 %, for 3 to 10 values.
  constexpr std::array<std::array<double, 3>, 8> kCritical{{{0.941, 0.970, 0.994},
                                                            {0.765, 0.829, 0.926},
                                                            {0.642, 0.710, 0.821},
                                                            {0.560, 0.625, 0.740},
                                                            {0.507, 0.568, 0.680},
                                                            {0.468, 0.526, 0.634},
                                                            {0.437, 0.493, 0.598},
                                                            {0.412, 0.466, 0.568}}};
  if (const auto fault = first_fault({unusable(values, 3, kWhere), without_scatter(values, kWhere)})) return refuse(*fault);
  if (values.size() > 10) return complain("more than ten values", kWhere, "use the Grubbs test");
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::sort(order, {}, [&](std::size_t k) { return values[k]; });
  const std::size_t last = order.size() - 1;
  const double low_gap = values[order[1]] - values[order[0]], high_gap = values[order[last]] - values[order[last - 1]];
  const auto& critical = kCritical[values.size() - 3];
  return DixonTest{.suspect = low_gap > high_gap ? order[0] : order[last],
                   .statistic = std::max(low_gap, high_gap) / (values[order[last]] - values[order[0]]),
                   .critical_10 = critical[0],
                   .critical_05 = critical[1],
                   .critical_01 = critical[2]};
}

}  // namespace coldstroke::analysis::statistics
