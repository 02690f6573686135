// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/demonstration.hpp"

#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/binomial.hpp>
#include <cmath>

#include "analysis/statistics/preconditions.hpp"

namespace coldstroke::analysis::statistics {

namespace bm = boost::math;

namespace {

constexpr double kMostTrials = 1.0e9;
constexpr std::int64_t kMostRunTrials = 1'000'000;  // chance_of_a_run() walks every trial

/// P(at most `failures` in `trials`) at failure chance 1 - reliability.
double at_most(std::int64_t failures, std::int64_t trials, double reliability) {
  if (failures >= trials) return 1.0;
  return bm::cdf(bm::binomial{static_cast<double>(trials), 1.0 - reliability}, static_cast<double>(failures));
}

std::optional<Complaint> bad_goal(Goal goal, const char* where) {
  return first_fault({not_between_zero_and_one(goal.reliability, "reliability", where),
                      not_between_zero_and_one(goal.confidence, "confidence", where)});
}

std::optional<Complaint> bad_plan(Plan plan, const char* where) {
  if (plan.trials < 1 || plan.failures_allowed < 0)
    return Complaint{"a plan without trials or with a negative number of failures", where,
                     "plan at least one trial and allow 0 or more failures"};
  return std::nullopt;
}

std::int64_t smallest_trials(Goal goal, std::int64_t allowed, double guess) {
  const double risk = 1.0 - goal.confidence;
  // The guess comes out of logarithms or an inverse and may land a hair beside an integer: walk to the exact edge.
  // Confidences such as 0.9 are not exact in binary either, hence the slack of a few units in the last place.
  const auto shows = [&](std::int64_t n) { return at_most(allowed, n, goal.reliability) <= risk * (1.0 + 1.0e-12); };
  auto n = std::max(static_cast<std::int64_t>(std::ceil(guess)), allowed + 1);
  while (n > allowed + 1 && shows(n - 1)) --n;
  while (!shows(n)) ++n;
  return n;
}

}  // namespace

Result<std::int64_t> trials_needed(Goal goal, std::int64_t failures_allowed) {
  constexpr auto kWhere = "trials needed for a demonstration";
  if (const auto fault = bad_goal(goal, kWhere)) return refuse(*fault);
  if (failures_allowed < 0) return complain("a negative number of allowed failures", kWhere, "allow 0 or more failures");
  const double run_length = std::log1p(-goal.confidence) / std::log(goal.reliability);
  if (!(run_length * (1.0 + static_cast<double>(failures_allowed)) < kMostTrials))
    return complain("the goal needs more than a thousand million trials", kWhere,
                    "ask for a reliability or confidence further from 1, or allow fewer failures");
  return guarded(kWhere, [&] {
    const double guess = failures_allowed == 0
                             ? run_length
                             : bm::binomial::find_minimum_number_of_trials(static_cast<double>(failures_allowed),
                                                                           1.0 - goal.reliability, 1.0 - goal.confidence);
    return smallest_trials(goal, failures_allowed, guess);
  });
}

Result<ReliabilityBound> reliability_shown(std::int64_t trials, std::int64_t failures, double confidence) {
  constexpr auto kWhere = "reliability shown";
  if (const auto fault =
          first_fault({impossible_counts(trials, failures, kWhere), not_between_zero_and_one(confidence, "confidence", kWhere)}))
    return refuse(*fault);
  ReliabilityBound out{trials, failures, confidence, 0.0};
  if (failures == trials) return out;
  return guarded(kWhere, [&] {
    // R = 1 - BetaInv(C; k+1, n-k), taken as the mirrored quantile so that no digits go in the subtraction.
    out.at_least = bm::quantile(
        bm::beta_distribution<>{static_cast<double>(trials - failures), static_cast<double>(failures + 1)}, 1.0 - confidence);
    return out;
  });
}

Result<Interval> share_interval(std::int64_t hits, std::int64_t trials, double confidence) {
  constexpr auto kWhere = "interval of a share";
  if (const auto fault =
          first_fault({impossible_counts(trials, hits, kWhere), not_between_zero_and_one(confidence, "confidence", kWhere)}))
    return refuse(*fault);
  return guarded(kWhere, [&] {
    const double tail = 0.5 * (1.0 - confidence), k = static_cast<double>(hits), n = static_cast<double>(trials);
    return Interval{hits == 0 ? 0.0 : bm::quantile(bm::beta_distribution<>{k, n - k + 1.0}, tail),
                    hits == trials ? 1.0 : bm::quantile(bm::complement(bm::beta_distribution<>{k + 1.0, n - k}, tail)),
                    confidence};
  });
}

Result<double> reliability_believed(std::int64_t trials, std::int64_t failures, double confidence, Prior prior) {
  constexpr auto kWhere = "reliability believed";
  if (const auto fault =
          first_fault({impossible_counts(trials, failures, kWhere), not_between_zero_and_one(confidence, "confidence", kWhere)}))
    return refuse(*fault);
  return guarded(kWhere, [&] {
    const double a = prior == Prior::flat ? 1.0 : 0.5;
    return bm::quantile(bm::beta_distribution<>{static_cast<double>(trials - failures) + a, static_cast<double>(failures) + a},
                        1.0 - confidence);
  });
}

Result<std::int64_t> passes_still_needed(std::int64_t trials, std::int64_t failures, Goal goal) {
  constexpr auto kWhere = "passes still needed";
  if (trials < 0 || failures < 0 || failures > trials)
    return complain("counts that cannot be: " + std::to_string(failures) + " failures in " + std::to_string(trials) + " trials",
                    kWhere, "count trials and failures from 0");
  return trials_needed(goal, failures).map([&](std::int64_t needed) { return std::max<std::int64_t>(0, needed - trials); });
}

Result<double> pass_probability(Plan plan, double true_reliability) {
  constexpr auto kWhere = "chance of passing a plan";
  if (const auto fault =
          first_fault({bad_plan(plan, kWhere), not_between_zero_and_one(true_reliability, "true reliability", kWhere)}))
    return refuse(*fault);
  return guarded(kWhere, [&] { return at_most(plan.failures_allowed, plan.trials, true_reliability); });
}

Result<std::vector<OperatingPoint>> operating_characteristic(Plan plan, std::span<const double> true_reliabilities) {
  std::vector<OperatingPoint> out;
  for (const double reliability : true_reliabilities) {
    const Result<double> chance = pass_probability(plan, reliability);
    if (!chance) return refuse(chance.error());
    out.push_back({reliability, *chance});
  }
  return out;
}

Result<std::vector<OfferedPlan>> offered_plans(Goal goal, std::int64_t most_failures,
                                               std::span<const double> true_reliabilities) {
  if (most_failures < 0) return complain("a negative number of allowed failures", "plans on offer", "allow 0 or more failures");
  std::vector<OfferedPlan> out;
  for (std::int64_t allowed = 0; allowed <= most_failures; ++allowed) {
    const Result<std::int64_t> trials = trials_needed(goal, allowed);
    if (!trials) return refuse(trials.error());
    const Plan plan{*trials, allowed};
    Result<std::vector<OperatingPoint>> chances = operating_characteristic(plan, true_reliabilities);
    if (!chances) return refuse(chances.error());
    out.push_back({plan, *std::move(chances)});
  }
  return out;
}

Result<double> chance_of_a_run(std::int64_t run_length, std::int64_t trials, double true_reliability) {
  constexpr auto kWhere = "chance of a run of passes";
  if (const auto fault = not_between_zero_and_one(true_reliability, "true reliability", kWhere)) return refuse(*fault);
  if (run_length < 1 || trials < 0 || trials > kMostRunTrials || run_length > kMostRunTrials)
    return complain("a run or a number of trials that cannot be", kWhere, "give a run of 1 or more within 0 to 1 000 000 trials");
  if (trials < run_length) return 0.0;
  // without[m]: chance of m trials without such a run. A first failure at place j <= run_length starts afresh after it;
  // by difference of neighbouring m this is one term a step.
  std::vector<double> without(static_cast<std::size_t>(trials) + 1, 1.0);
  const auto length = static_cast<std::size_t>(run_length);
  const double whole_run = std::pow(true_reliability, static_cast<double>(run_length));
  without[length] = 1.0 - whole_run;
  for (std::size_t m = length + 1; m < without.size(); ++m)
    without[m] = without[m - 1] - (1.0 - true_reliability) * whole_run * without[m - 1 - length];
  return 1.0 - without.back();
}

}  // namespace coldstroke::analysis::statistics
