// SPDX-License-Identifier: GPL-3.0-or-later
//
// Two means compared: different, or the same within a margin that was set beforehand. A large p of a difference test is no
// proof of sameness; only the equivalence test is.
#pragma once

#include <cstddef>
#include <span>

#include "analysis/result.hpp"
#include "analysis/statistics/sample.hpp"

namespace coldstroke::analysis::statistics {

/// What a t test needs to know of a sample.
struct Moments {
  std::size_t count = 0;
  double mean = 0.0, standard_deviation = 0.0;
  bool operator==(const Moments&) const = default;
};
/// Two finite values or more.
[[nodiscard]] Result<Moments> moments(std::span<const double> values);

/// `separate` is Welch's, with Satterthwaite's degrees of freedom: the default. `pooled` assumes equal scatter and is here
/// for comparison with older reports.
enum class Scatter { separate, pooled };

struct MeanDifference {
  double difference = 0.0;  ///< first - second
  double standard_error = 0.0;
  double t = 0.0, freedom = 0.0;
  double p_two_sided = 1.0;
  Interval interval;  ///< of the difference
  bool operator==(const MeanDifference&) const = default;
};
/// Two values or more a side; refuses two sides without scatter.
[[nodiscard]] Result<MeanDifference> compare_means(Moments first, Moments second, double confidence = 0.95,
                                                   Scatter scatter = Scatter::separate);
/// The same on the differences of pairs.
[[nodiscard]] Result<MeanDifference> compare_paired_means(std::span<const double> first, std::span<const double> second,
                                                          double confidence = 0.95);

/// A difference from `low` to `high` is of no consequence: set before the trials, in the unit of the values.
struct Margin {
  double low = 0.0, high = 0.0;
  bool operator==(const Margin&) const = default;
};

struct Equivalence {
  MeanDifference means;      ///< its interval has confidence 1 - 2 significance: inside the margin exactly if equivalent
  double p_above_low = 1.0;  ///< against a true difference at or below margin.low
  double p_below_high = 1.0;
  double p_value = 1.0;  ///< the larger of both
  bool equivalent = false;
  bool operator==(const Equivalence&) const = default;
};
/// Two one-sided tests (Schuirmann 1987). Refuses a margin whose low is not below its high, and a significance of 0.5 or more.
[[nodiscard]] Result<Equivalence> show_equivalence(Moments first, Moments second, Margin margin, double significance = 0.05,
                                                   Scatter scatter = Scatter::separate);

}  // namespace coldstroke::analysis::statistics
