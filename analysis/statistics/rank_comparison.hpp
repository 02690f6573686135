// SPDX-License-Identifier: GPL-3.0-or-later
//
// Two samples compared by order alone: no shape assumed, and a value that never came (a silent detector) keeps its place at
// the far end instead of being left out.
#pragma once

#include <cstddef>
#include <span>

#include "analysis/result.hpp"
#include "analysis/statistics/sample.hpp"

namespace coldstroke::analysis::statistics {

/// By how much the first sample lies above the second (or the first of a pair above the second).
struct Shift {
  double estimate = 0.0;  ///< Hodges-Lehmann
  Interval interval;      ///< `confidence` is what was reached, which steps; with few values it may be less than asked for
  bool operator==(const Shift&) const = default;
};

struct MannWhitney {
  double u_first = 0.0;  ///< pairs in which the first is larger, ties half; u_first + u_second = n1 n2
  double p_two_sided = 1.0;
  double p_greater = 1.0;  ///< against "the first is not larger"
  double p_less = 1.0;
  bool exact = false;  ///< else normal, with continuity correction and corrected for ties
  Result<Shift> shift;
};
/// Exact without ties up to 50 values a side. `first` and `second` may hold +infinity: never reached.
/// Refuses other values that are not finite, an empty side, all values equal, and more than 5000 values a side.
/// The shift's interval uses the distribution without ties (exact up to 50 a side).
[[nodiscard]] Result<MannWhitney> mann_whitney(std::span<const double> first, std::span<const double> second,
                                               double confidence = 0.95);

struct SignedRank {
  double v = 0.0;               ///< sum of the ranks of positive differences
  std::size_t equal_pairs = 0;  ///< left out of the test
  double p_two_sided = 1.0, p_greater = 1.0, p_less = 1.0;
  bool exact = false;
  Result<Shift> shift;
};
/// Wilcoxon's test of pairs: first - second. Exact up to 50 pairs without ties or equal pairs. Refuses fewer than one unequal
/// pair and more than 5000 pairs.
[[nodiscard]] Result<SignedRank> signed_rank(std::span<const double> first, std::span<const double> second,
                                             double confidence = 0.95);

}  // namespace coldstroke::analysis::statistics
