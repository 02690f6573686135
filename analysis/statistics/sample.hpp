// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a list of values looks like: centre, scatter, their confidence intervals, ranks, and whether each value leans on
// the one before.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "analysis/result.hpp"

namespace coldstroke::analysis::statistics {

/// From `low` to `high`, covering the truth with the stated confidence if the assumptions hold.
struct Interval {
  double low = 0.0, high = 0.0;
  double confidence = 0.0;  ///< part of one
  bool operator==(const Interval&) const = default;
};

/// All in the unit of the values, except the count.
struct Description {
  std::size_t count = 0;
  double mean = 0.0;
  double standard_deviation = 0.0;  ///< n - 1 in the denominator
  double smallest = 0.0, median = 0.0, largest = 0.0;
  bool operator==(const Description&) const = default;
};

/// Two or more finite values. Deviation by two passes over differences from the mean: never as a difference of two large
/// sums, which on NIST NumAcc4 gives a negative variance. Equal values have deviation 0 exactly.
[[nodiscard]] Result<Description> describe(std::span<const double> values);

/// mean -+ t s / sqrt(n). Refuses values without scatter.
[[nodiscard]] Result<Interval> mean_interval(std::span<const double> values, double confidence);
/// s sqrt((n - 1) / chi-squared quantile): for normal values only. Refuses values without scatter.
[[nodiscard]] Result<Interval> deviation_interval(std::span<const double> values, double confidence);

/// sum (x_i - m)(x_{i-1} - m) / sum (x_i - m)^2, the definition of the NIST reference sets. Three values or more.
[[nodiscard]] Result<double> lag_one_autocorrelation(std::span<const double> values);

/// Ranks from 1, equal values sharing the mean of their places.
struct Ranking {
  std::vector<double> ranks;  ///< in the order of the input
  double tie_sum = 0.0;       ///< sum over groups of t equal values of t^3 - t; 0 without ties
};
/// Infinities rank like any other value; NaN must not occur.
[[nodiscard]] Ranking rank(std::span<const double> values);

}  // namespace coldstroke::analysis::statistics
