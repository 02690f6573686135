// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/normality.hpp"

#include <algorithm>
#include <array>
#include <boost/math/constants/constants.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/tools/rational.hpp>
#include <cmath>
#include <vector>

#include "analysis/statistics/preconditions.hpp"
#include "analysis/statistics/sample.hpp"

namespace coldstroke::analysis::statistics {

namespace bm = boost::math;

namespace {

constexpr std::size_t kMostForRoyston = 5000;

std::vector<double> ascending(std::span<const double> values) {
  std::vector<double> sorted{values.begin(), values.end()};
  std::ranges::sort(sorted);
  return sorted;
}

double anderson_darling_p(double a) {
  if (a < 0.2) return 1.0 - std::exp(-13.436 + 101.14 * a - 223.73 * a * a);
  if (a < 0.34) return 1.0 - std::exp(-8.318 + 42.796 * a - 59.938 * a * a);
  if (a < 0.6) return std::exp(0.9177 - 4.279 * a - 1.38 * a * a);
  // The last parabola turns up again beyond its vertex (a = 153); by then p has long left double's range of interest.
  const double b = std::min(a, 150.0);
  return std::min(1.0, std::exp(1.2937 - 5.709 * b + 0.0186 * b * b));
}

template <std::size_t n>
double polynomial(const std::array<double, n>& coefficients, double x) {
  return bm::tools::evaluate_polynomial(coefficients.data(), x, n);
}

/// Weights of the ascending values: Royston's correction of the normalised expected normal scores at the two ends.
std::vector<double> royston_weights(std::size_t n) {
  constexpr std::array kLast{0.0, 0.221157, -0.147981, -2.07119, 4.434685, -2.706056};
  constexpr std::array kNext{0.0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633};
  std::vector<double> weights(n);
  if (n == 3) {
    weights = {-bm::constants::half_root_two<double>(), 0.0, bm::constants::half_root_two<double>()};
    return weights;
  }
  const auto count = static_cast<double>(n);
  double squares = 0.0;
  for (std::size_t k = 0; k < n; ++k) {
    weights[k] = bm::quantile(bm::normal{}, (static_cast<double>(k + 1) - 0.375) / (count + 0.25));
    squares += weights[k] * weights[k];
  }
  const double root = std::sqrt(squares), small = 1.0 / std::sqrt(count);
  const double last_score = weights[n - 1], next_score = weights[n - 2];
  const double last = polynomial(kLast, small) + last_score / root;
  const bool two_ends = n > 5;
  const double next = two_ends ? polynomial(kNext, small) + next_score / root : 0.0;
  double rest = squares - 2.0 * last_score * last_score, left = 1.0 - 2.0 * last * last;
  if (two_ends) {
    rest -= 2.0 * next_score * next_score;
    left -= 2.0 * next * next;
  }
  for (double& weight : weights) weight /= std::sqrt(rest / left);
  weights[n - 1] = last;
  weights[0] = -last;
  if (two_ends) {
    weights[n - 2] = next;
    weights[1] = -next;
  }
  return weights;
}

/// `lack` = 1 - W, kept apart from W so that no digits go when W is close to 1.
double royston_p(std::size_t n, double lack) {
  const auto count = static_cast<double>(n);
  if (n == 3) {
    const double w = std::max(1.0 - lack, 0.75);
    return std::clamp(6.0 * bm::constants::one_div_pi<double>() * (std::asin(std::sqrt(w)) - std::asin(std::sqrt(0.75))), 0.0,
                      1.0);
  }
  if (lack <= 0.0) return 1.0;
  double y = std::log(lack), mean = 0.0, deviation = 1.0;
  if (n <= 11) {
    const double gamma = -2.273 + 0.459 * count;
    if (y >= gamma) return 1.0e-19;  // W is as small as it can be
    y = -std::log(gamma - y);
    mean = polynomial(std::array{0.5440, -0.39978, 0.025054, -6.714e-4}, count);
    deviation = std::exp(polynomial(std::array{1.3822, -0.77857, 0.062767, -0.0020322}, count));
  } else {
    const double x = std::log(count);
    mean = polynomial(std::array{-1.5861, -0.31082, -0.083751, 0.0038915}, x);
    deviation = std::exp(polynomial(std::array{-0.4803, -0.082676, 0.0030302}, x));
  }
  return bm::cdf(bm::complement(bm::normal{mean, deviation}, y));
}

}  // namespace

Result<AndersonDarling> anderson_darling(std::span<const double> values) {
  constexpr auto kWhere = "normality (Anderson-Darling)";
  if (const auto fault = first_fault({unusable(values, 3, kWhere), without_scatter(values, kWhere)})) return refuse(*fault);
  const std::vector<double> sorted = ascending(values);
  const Description d = *describe(values);
  return guarded(kWhere, [&] {
    // Written out rather than taken from Boost: with the upper tail as a complement no logarithm meets a zero.
    const bm::normal fitted{d.mean, d.standard_deviation};
    const std::size_t n = sorted.size();
    const auto count = static_cast<double>(n);
    double sum = 0.0;
    for (std::size_t k = 0; k < n; ++k)
      sum += static_cast<double>(2 * k + 1) *
             (std::log(bm::cdf(fitted, sorted[k])) + std::log(bm::cdf(bm::complement(fitted, sorted[n - 1 - k]))));
    AndersonDarling out;
    out.statistic = -count - sum / count;
    out.adjusted = out.statistic * (1.0 + 0.75 / count + 2.25 / (count * count));
    out.p_value = anderson_darling_p(out.adjusted);
    return out;
  });
}

Result<ShapiroWilk> shapiro_wilk(std::span<const double> values) {
  constexpr auto kWhere = "normality (Shapiro-Wilk)";
  if (const auto fault = first_fault({unusable(values, 3, kWhere), without_scatter(values, kWhere)})) return refuse(*fault);
  if (values.size() > kMostForRoyston)
    return complain("more than 5000 values", kWhere, "use the Anderson-Darling test, which has no such bound");
  const std::vector<double> sorted = ascending(values);
  return guarded(kWhere, [&] {
    const std::vector<double> weights = royston_weights(sorted.size());
    const double mean = describe(values)->mean, range = sorted.back() - sorted.front();
    double weight_squares = 0.0, value_squares = 0.0, products = 0.0;
    for (std::size_t k = 0; k < sorted.size(); ++k) {
      const double x = (sorted[k] - mean) / range;
      weight_squares += weights[k] * weights[k];
      value_squares += x * x;
      products += weights[k] * x;
    }
    const double root = std::sqrt(weight_squares * value_squares);
    const double lack = (root - products) * (root + products) / (weight_squares * value_squares);
    return ShapiroWilk{1.0 - lack, royston_p(sorted.size(), lack)};
  });
}

}  // namespace coldstroke::analysis::statistics
