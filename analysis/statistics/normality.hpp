// SPDX-License-Identifier: GPL-3.0-or-later
//
// Does a list of values contradict a normal distribution? A large p is no proof that it is one: few values contradict nothing.
#pragma once

#include <span>

#include "analysis/result.hpp"

namespace coldstroke::analysis::statistics {

struct AndersonDarling {
  double statistic = 0.0;  ///< A squared, mean and deviation estimated from the values
  double adjusted = 0.0;   ///< A squared (1 + 0.75/n + 2.25/n^2)
  double p_value = 0.0;    ///< D'Agostino & Stephens 1986, table 4.9; meant for 8 values and more
  bool operator==(const AndersonDarling&) const = default;
};
/// Three values or more; refuses values without scatter.
[[nodiscard]] Result<AndersonDarling> anderson_darling(std::span<const double> values);

struct ShapiroWilk {
  double statistic = 0.0;  ///< W, 1 for a perfect fit
  double p_value = 0.0;
  bool operator==(const ShapiroWilk&) const = default;
};
/// Royston's approximation (Applied Statistics algorithm AS R94, 1995), 3 to 5000 values; refuses values without scatter.
[[nodiscard]] Result<ShapiroWilk> shapiro_wilk(std::span<const double> values);

}  // namespace coldstroke::analysis::statistics
