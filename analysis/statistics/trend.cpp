// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/trend.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/statistics/univariate_statistics.hpp>
#include <cmath>
#include <vector>

#include "analysis/statistics/preconditions.hpp"

namespace coldstroke::analysis::statistics {

namespace bm = boost::math;

namespace {

constexpr std::size_t kMostForEveryOrder = 9;  // 362 880 orders

std::optional<Complaint> bad_pairs(std::span<const double> x, std::span<const double> y, std::size_t least, const char* where) {
  return first_fault({unpaired(x.size(), y.size(), where), unusable(x, least, where), unusable(y, least, where),
                      without_scatter(x, where), without_scatter(y, where)});
}

double two_sided_t(double t, double freedom) {
  if (!std::isfinite(t)) return 0.0;  // an exact line
  return 2.0 * bm::cdf(bm::complement(bm::students_t{freedom}, std::abs(t)));
}

double correlation_of(std::span<const double> x, std::span<const double> y) {
  const double mx = bm::statistics::mean(x.begin(), x.end()), my = bm::statistics::mean(y.begin(), y.end());
  double xx = 0.0, yy = 0.0, xy = 0.0;
  for (std::size_t k = 0; k < x.size(); ++k) {
    xx += (x[k] - mx) * (x[k] - mx);
    yy += (y[k] - my) * (y[k] - my);
    xy += (x[k] - mx) * (y[k] - my);
  }
  return std::clamp(xy / std::sqrt(xx) / std::sqrt(yy), -1.0, 1.0);
}

double correlation_p(double r, std::size_t n) {
  const double freedom = static_cast<double>(n) - 2.0;
  return two_sided_t(r * std::sqrt(freedom / ((1.0 - r) * (1.0 + r))), freedom);
}

/// Share of all orders of y whose products with x are at least as far from their mean as these are.
double every_order(std::vector<double> x, std::vector<double> y) {
  const double mx = bm::statistics::mean(x), my = bm::statistics::mean(y);
  for (double& value : x) value -= mx;
  for (double& value : y) value -= my;
  const auto product = [&] {
    double sum = 0.0;
    for (std::size_t k = 0; k < x.size(); ++k) sum += x[k] * y[k];
    return std::abs(sum);
  };
  const double seen = product() - 1.0e-9;  // rank products are multiples of a quarter: no tie is lost to rounding
  std::ranges::sort(y);
  std::size_t orders = 0, as_far = 0;
  do {
    ++orders;
    if (product() >= seen) ++as_far;
  } while (std::ranges::next_permutation(y).found);
  return static_cast<double>(as_far) / static_cast<double>(orders);
}

}  // namespace

Result<Trend> find_trend(std::span<const double> x, std::span<const double> y, double confidence) {
  constexpr auto kWhere = "trend";
  if (const auto fault = first_fault({not_between_zero_and_one(confidence, "confidence", kWhere), bad_pairs(x, y, 3, kWhere)}))
    return refuse(*fault);
  const auto n = static_cast<Eigen::Index>(x.size());
  const auto [low, high] = std::ranges::minmax(x);
  const double middle = 0.5 * low + 0.5 * high, half = 0.5 * high - 0.5 * low;
  Eigen::MatrixX2d design(n, 2);
  design.col(0).setOnes();
  design.col(1) = (Eigen::Map<const Eigen::VectorXd>(x.data(), n).array() - middle) / half;
  const Eigen::Map<const Eigen::VectorXd> wanted(y.data(), n);
  const Eigen::Vector2d b = design.colPivHouseholderQr().solve(wanted);
  const double residual_squares = (wanted - design * b).squaredNorm();
  const double freedom = static_cast<double>(n) - 2.0;
  const Eigen::Matrix2d covariance = (design.transpose() * design).inverse() * (residual_squares / freedom);
  return guarded(kWhere, [&] {
    Trend out;
    const double shift = middle / half;  // intercept = b0 - b1 * middle / half
    out.slope = b(1) / half;
    out.intercept = b(0) - b(1) * shift;
    out.slope_standard_error = std::sqrt(covariance(1, 1)) / half;
    out.intercept_standard_error =
        std::sqrt(covariance(0, 0) - 2.0 * shift * covariance(0, 1) + shift * shift * covariance(1, 1));
    out.residual_deviation = std::sqrt(residual_squares / freedom);
    out.t = out.slope / out.slope_standard_error;
    out.p_value = two_sided_t(out.t, freedom);
    out.explained = 1.0 - residual_squares / (wanted.array() - wanted.mean()).matrix().squaredNorm();
    const double reach = bm::quantile(bm::students_t{freedom}, 0.5 * (1.0 + confidence)) * out.slope_standard_error;
    out.slope_interval = {out.slope - reach, out.slope + reach, confidence};
    out.change_over_range = {out.slope_interval.low * 2.0 * half, out.slope_interval.high * 2.0 * half, confidence};
    return out;
  });
}

Result<Correlation> pearson(std::span<const double> x, std::span<const double> y) {
  constexpr auto kWhere = "correlation (Pearson)";
  if (const auto fault = bad_pairs(x, y, 3, kWhere)) return refuse(*fault);
  return guarded(kWhere, [&] {
    const double r = correlation_of(x, y);
    return Correlation{r, correlation_p(r, x.size()), false};
  });
}

Result<Interval> pearson_interval(std::span<const double> x, std::span<const double> y, double confidence) {
  constexpr auto kWhere = "interval of a correlation";
  if (const auto fault = first_fault({not_between_zero_and_one(confidence, "confidence", kWhere), bad_pairs(x, y, 4, kWhere)}))
    return refuse(*fault);
  const double r = correlation_of(x, y);
  if (std::abs(r) >= 1.0)
    return complain("the points lie exactly on a line", kWhere, "check that the two lists are not the same");
  return guarded(kWhere, [&] {
    const double reach = bm::quantile(bm::normal{}, 0.5 * (1.0 + confidence)) / std::sqrt(static_cast<double>(x.size()) - 3.0);
    return Interval{std::tanh(std::atanh(r) - reach), std::tanh(std::atanh(r) + reach), confidence};
  });
}

Result<Correlation> spearman(std::span<const double> x, std::span<const double> y) {
  constexpr auto kWhere = "correlation (Spearman)";
  if (const auto fault = bad_pairs(x, y, 3, kWhere)) return refuse(*fault);
  return guarded(kWhere, [&] {
    const std::vector<double> rx = rank(x).ranks, ry = rank(y).ranks;
    const double rho = correlation_of(rx, ry);
    const bool exact = x.size() <= kMostForEveryOrder;
    return Correlation{rho, exact ? every_order(rx, ry) : correlation_p(rho, x.size()), exact};
  });
}

Result<RunsTest> runs_test(std::span<const double> values) {
  constexpr auto kWhere = "runs test";
  if (const auto fault = first_fault({unusable(values, 3, kWhere), without_scatter(values, kWhere)})) return refuse(*fault);
  const double median = describe(values)->median;
  RunsTest out;
  for (std::size_t k = 0; k < values.size(); ++k) {
    const bool above = values[k] >= median;
    ++(above ? out.above : out.below);
    if (k == 0 || above != (values[k - 1] >= median)) ++out.runs;
  }
  const auto a = static_cast<double>(out.above), b = static_cast<double>(out.below), pairs = 2.0 * a * b;
  if (out.below == 0) return complain("no value is below the median", kWhere, "the values take too few levels for this test");
  out.expected = pairs / (a + b) + 1.0;
  out.deviation = std::sqrt(pairs * (pairs - a - b) / ((a + b) * (a + b) * (a + b - 1.0)));
  if (out.deviation == 0.0) return complain("too few values on one side of the median", kWhere, "record more trials");
  out.z = (static_cast<double>(out.runs) - out.expected) / out.deviation;
  return guarded(kWhere, [&] {
    out.p_value = 2.0 * bm::cdf(bm::complement(bm::normal{}, std::abs(out.z)));
    return out;
  });
}

Result<Dependence> find_dependence(std::span<const double> values) {
  return lag_one_autocorrelation(values).map([&](double lag_one) {
    const double threshold = 2.0 / std::sqrt(static_cast<double>(values.size()));
    return Dependence{lag_one, threshold, std::abs(lag_one) > threshold};
  });
}

}  // namespace coldstroke::analysis::statistics
