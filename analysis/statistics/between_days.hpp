// SPDX-License-Identifier: GPL-3.0-or-later
//
// Is one day (battery, operator, bottle) like the other? One-way analysis of variance, and the same for the scatter.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "analysis/result.hpp"
#include "analysis/statistics/sample.hpp"

namespace coldstroke::analysis::statistics {

struct FTest {
  double f = 0.0;
  std::size_t between_freedom = 0, within_freedom = 0;
  double p_value = 0.0;
  bool operator==(const FTest&) const = default;
};

struct BetweenDays {
  std::vector<Description> groups;  ///< for a group of one value: that value, deviation 0
  FTest means;                      ///< do the means differ by more than the scatter within a day explains
  double between_squares = 0.0, within_squares = 0.0;
  double within_deviation = 0.0;   ///< repeatability: scatter within a day
  double between_deviation = 0.0;  ///< of the days' means beyond that; 0 if the scatter within explains it all
  Result<FTest> scatters;          ///< Brown-Forsythe form of Levene's test: do the days scatter alike
};

/// Groups of one value or more each, at least two groups, more values than groups. Refuses groups that do not scatter at all.
[[nodiscard]] Result<BetweenDays> compare_days(std::span<const std::vector<double>> groups);

}  // namespace coldstroke::analysis::statistics
