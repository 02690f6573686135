// SPDX-License-Identifier: GPL-3.0-or-later
//
// Individuals and moving-range chart with run rules: does the rig, or the vehicle, behave today as it did at the start?
// A signal asks for a look. It removes nothing. docs/statistics.md, "Drift".
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "analysis/result.hpp"

namespace coldstroke::analysis::statistics {

/// Nelson, Journal of Quality Technology 16(4), 1984, in his order; Western Electric, Statistical Quality Control Handbook,
/// 1956, has rules 1, 5, 6 and eight on one side. "Beyond" is strict; lengths are in points; a point exactly on the centre
/// is on neither side and breaks a run.
enum class RunRule {
  one_beyond_three_sigma,
  nine_on_one_side,
  six_steadily_up_or_down,
  fourteen_alternating,
  two_of_three_beyond_two_sigma,  // on one side, the last of them among the two
  four_of_five_beyond_one_sigma,  // likewise
  fifteen_within_one_sigma,
  eight_beyond_one_sigma,  // on both sides
  eight_on_one_side,
};
[[nodiscard]] const char* word(RunRule rule);  ///< for people: "one point beyond three sigma"

enum class RuleSet { western_electric, nelson };
[[nodiscard]] std::span<const RunRule> rules_of(RuleSet set);

/// A point at which a rule's pattern is complete.
struct Signal {
  std::size_t point = 0;  ///< from 0
  RunRule rule = RunRule::one_beyond_three_sigma;
  bool operator==(const Signal&) const = default;
};

/// Every point at which `rule` is met, given centre and sigma (> 0). Values must be finite.
[[nodiscard]] Result<std::vector<std::size_t>> points_signalled(std::span<const double> values, double centre, double sigma,
                                                                RunRule rule);

struct ControlChart {
  double centre = 0.0;
  double mean_moving_range = 0.0;
  double sigma = 0.0;                           ///< mean moving range / 1.128: short-term scatter, blind to slow drift
  double lower_limit = 0.0, upper_limit = 0.0;  ///< centre -+ 3 sigma
  double moving_range_limit = 0.0;              ///< 3.267 mean moving range
  std::vector<double> moving_ranges;            ///< one less than the values
  std::vector<Signal> signals;                  ///< by point
  std::vector<std::size_t> ranges_signalled;    ///< points whose distance to the one before is above the limit
  bool operator==(const ControlChart&) const = default;
};

/// Limits from the first `baseline` values (0: from all), rules over all. With 0 a shift inflates its own limits.
/// Constants for pairs as NIST/SEMATECH e-Handbook 6.3.2.2 prints them: 1.128 and 3.267.
/// Refuses fewer than three values, a baseline of 1, 2 or more than there are, and a baseline that does not move.
[[nodiscard]] Result<ControlChart> control_chart(std::span<const double> values, RuleSet set, std::size_t baseline = 0);

}  // namespace coldstroke::analysis::statistics
