// SPDX-License-Identifier: GPL-3.0-or-later
//
// Does a metric move with the trial number, elapsed time, charge or temperature?
#pragma once

#include <cstddef>
#include <span>

#include "analysis/result.hpp"
#include "analysis/statistics/sample.hpp"

namespace coldstroke::analysis::statistics {

/// Straight line by least squares, y = intercept + slope x. Units: y's, and y's per x's.
struct Trend {
  double intercept = 0.0, slope = 0.0;
  double intercept_standard_error = 0.0, slope_standard_error = 0.0;
  double residual_deviation = 0.0;  ///< sqrt(RSS / (n - 2))
  double t = 0.0;                   ///< slope over its standard error
  double p_value = 0.0;             ///< two-sided, against no slope; 0 on an exact line
  double explained = 0.0;           ///< share of the squares explained, R squared
  Interval slope_interval;
  Interval change_over_range;  ///< slope_interval times (largest x - smallest x): what it amounts to, in y's unit
  bool operator==(const Trend&) const = default;
};

/// Eigen's Householder QR on x scaled to [-1, 1]. Three points or more, x and y each with scatter.
[[nodiscard]] Result<Trend> find_trend(std::span<const double> x, std::span<const double> y, double confidence = 0.95);

struct Correlation {
  double coefficient = 0.0;  ///< -1 to 1
  double p_value = 0.0;      ///< two-sided, against none
  bool exact = false;        ///< p by going through every order of the values
  bool operator==(const Correlation&) const = default;
};
/// Pearson's r, linear association; p by t with n - 2 degrees of freedom, which needs normal values. Three or more pairs.
[[nodiscard]] Result<Correlation> pearson(std::span<const double> x, std::span<const double> y);
/// Fisher's z interval of Pearson's r. Four or more pairs; refuses |r| = 1.
[[nodiscard]] Result<Interval> pearson_interval(std::span<const double> x, std::span<const double> y, double confidence);
/// Spearman's rho, monotonic association, ties by mean rank; p exact up to 9 pairs, by t beyond.
[[nodiscard]] Result<Correlation> spearman(std::span<const double> x, std::span<const double> y);

/// Runs above and below the median: too few say drift, too many say over-correction. Values equal to the median count as
/// above (NIST/SEMATECH e-Handbook 1.3.5.13).
struct RunsTest {
  std::size_t runs = 0, above = 0, below = 0;
  double expected = 0.0, deviation = 0.0;  ///< of the number of runs, if the order were random
  double z = 0.0, p_value = 0.0;           ///< two-sided, normal approximation
  bool operator==(const RunsTest&) const = default;
};
[[nodiscard]] Result<RunsTest> runs_test(std::span<const double> values);

/// Lag-one autocorrelation, and whether it is larger than 2 / sqrt(n): then the values are not independent, and every
/// bound and limit of the campaign promises more than it holds.
struct Dependence {
  double lag_one = 0.0, threshold = 0.0;
  bool suspected = false;
  bool operator==(const Dependence&) const = default;
};
[[nodiscard]] Result<Dependence> find_dependence(std::span<const double> values);

}  // namespace coldstroke::analysis::statistics
