// SPDX-License-Identifier: GPL-3.0-or-later
//
// What n trials with k failures prove about a reliability, and what is still to be run. Pure binomial: each trial counts
// the same, succeeds with the same unknown chance R, and does not know of the others. docs/statistics.md, "Demonstration".
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "analysis/result.hpp"
#include "analysis/statistics/sample.hpp"

namespace coldstroke::analysis::statistics {

/// "Reliable in at least this part of trials, with this confidence." Both strictly between 0 and 1.
struct Goal {
  double reliability = 0.0;
  double confidence = 0.0;
  bool operator==(const Goal&) const = default;
};

/// Run this many trials, accept at most that many failures.
struct Plan {
  std::int64_t trials = 0;
  std::int64_t failures_allowed = 0;
  bool operator==(const Plan&) const = default;
};

/// The largest reliability that is shown.
struct ReliabilityBound {
  std::int64_t trials = 0, failures = 0;
  double confidence = 0.0;
  double at_least = 0.0;  ///< 0 when every trial failed
  bool operator==(const ReliabilityBound&) const = default;
};

/// Smallest n with sum_{i<=k} C(n,i) (1-R)^i R^(n-i) <= 1 - C. Without failures that is the success run, ln(1-C) / ln R
/// rounded up. Refuses a goal that needs more than a thousand million trials.
[[nodiscard]] Result<std::int64_t> trials_needed(Goal goal, std::int64_t failures_allowed);

/// One-sided Clopper-Pearson (1934) limit, 1 - BetaInv(C; k + 1, n - k): the R at which k or fewer failures in n trials
/// would happen with probability 1 - C.
[[nodiscard]] Result<ReliabilityBound> reliability_shown(std::int64_t trials, std::int64_t failures, double confidence);

/// Two-sided Clopper-Pearson interval of a share, `hits` of `trials`.
[[nodiscard]] Result<Interval> share_interval(std::int64_t hits, std::int64_t trials, double confidence);

/// What was believed before the first trial, as Beta(a, a).
enum class Prior { flat, jeffreys };  // a = 1, a = 1/2
/// Posterior (1 - C) quantile of R. A cross-check only: the Jeffreys prior is visibly more generous than the exact limit.
[[nodiscard]] Result<double> reliability_believed(std::int64_t trials, std::int64_t failures, double confidence, Prior prior);

/// Failure-free trials still to be added before `goal` is shown, keeping the failures already there; 0 if it is shown.
[[nodiscard]] Result<std::int64_t> passes_still_needed(std::int64_t trials, std::int64_t failures, Goal goal);

/// Chance that a detector of this true reliability meets the plan: the binomial sum up to the failures allowed.
[[nodiscard]] Result<double> pass_probability(Plan plan, double true_reliability);

struct OperatingPoint {
  double true_reliability = 0.0;
  double pass_probability = 0.0;
  bool operator==(const OperatingPoint&) const = default;
};
/// The plan's operating characteristic at the given true reliabilities, in their order.
[[nodiscard]] Result<std::vector<OperatingPoint>> operating_characteristic(Plan plan, std::span<const double> true_reliabilities);

struct OfferedPlan {
  Plan plan;
  std::vector<OperatingPoint> chances;
  bool operator==(const OfferedPlan&) const = default;
};
/// The plans that show `goal` with 0, 1, ... `most_failures` allowed, each with its chance of being passed.
[[nodiscard]] Result<std::vector<OfferedPlan>> offered_plans(Goal goal, std::int64_t most_failures,
                                                             std::span<const double> true_reliabilities);

/// Chance that `trials` trials hold at least one unbroken run of `run_length` passes. Shows why a run that was fished for
/// proves nothing: at R = 0.90, 100 trials hold a run of 22 two times in three.
[[nodiscard]] Result<double> chance_of_a_run(std::int64_t run_length, std::int64_t trials, double true_reliability);

}  // namespace coldstroke::analysis::statistics
