// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/demonstration.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>

namespace coldstroke::analysis::statistics {
namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

/// The binomial sum by plain multiplication, as a second method.
double sum_by_hand(std::int64_t failures, std::int64_t trials, double reliability) {
  double term = std::pow(reliability, static_cast<double>(trials)), sum = term;
  for (std::int64_t i = 1; i <= failures; ++i) {
    term *= static_cast<double>(trials - i + 1) / static_cast<double>(i) * (1.0 - reliability) / reliability;
    sum += term;
  }
  return sum;
}

TEST(TrialsNeeded, IsTheSmallestNumberThatShowsTheGoal) {
  for (const double r : {0.5, 0.8, 0.9, 0.95, 0.99})
    for (const double c : {0.5, 0.8, 0.9, 0.95, 0.99})
      for (std::int64_t k = 0; k <= 6; ++k) {
        const auto n = trials_needed({r, c}, k);
        ASSERT_TRUE(n.has_value());
        EXPECT_LE(sum_by_hand(k, *n, r), (1.0 - c) * (1.0 + 1.0e-9)) << r << " " << c << " " << k;
        if (*n > k + 1) {
          EXPECT_GT(sum_by_hand(k, *n - 1, r), 1.0 - c) << r << " " << c << " " << k;
        }
      }
}

TEST(TrialsNeeded, LandsOnTheEdgeWhenTheLogarithmsAreAWholeNumber) {
  EXPECT_EQ(trials_needed({0.5, 0.5}, 0).value(), 1);
  EXPECT_EQ(trials_needed({0.5, 0.875}, 0).value(), 3);  // 1 - 0.5^3
  EXPECT_EQ(trials_needed({0.9, 0.271}, 0).value(), 3);  // 1 - 0.9^3
  EXPECT_EQ(trials_needed({0.1, 0.99}, 0).value(), 2);   // 1 - 0.1^2
}

TEST(ReliabilityShown, AndTrialsNeededAgree) {
  for (const double r : {0.8, 0.9, 0.95, 0.99})
    for (std::int64_t k = 0; k <= 3; ++k) {
      const std::int64_t n = trials_needed({r, 0.95}, k).value();
      EXPECT_GE(reliability_shown(n, k, 0.95).value().at_least, r - 1.0e-12);
      EXPECT_LT(reliability_shown(n - 1, k, 0.95).value().at_least, r);
    }
}

TEST(ReliabilityShown, SolvesItsOwnDefinition) {
  for (const auto& [n, k] : {std::pair{20, 0}, std::pair{20, 4}, std::pair{59, 1}, std::pair{500, 7}}) {
    const double r = reliability_shown(n, k, 0.9).value().at_least;
    EXPECT_NEAR(sum_by_hand(k, n, r), 0.1, 1.0e-11);
  }
}

TEST(ReliabilityShown, OneTrialProvesLittleAndAllFailedProvesNothing) {
  EXPECT_NEAR(reliability_shown(1, 0, 0.9).value().at_least, 0.1, 1.0e-14);
  EXPECT_EQ(reliability_shown(5, 5, 0.9).value().at_least, 0.0);
}

TEST(ShareInterval, ReachesTheEndsAndMirrors) {
  EXPECT_EQ(share_interval(0, 10, 0.95).value().low, 0.0);
  EXPECT_EQ(share_interval(10, 10, 0.95).value().high, 1.0);
  const Interval three = share_interval(3, 17, 0.9).value(), fourteen = share_interval(14, 17, 0.9).value();
  EXPECT_NEAR(three.low, 1.0 - fourteen.high, 1.0e-13);
  EXPECT_NEAR(three.high, 1.0 - fourteen.low, 1.0e-13);
}

TEST(PassesStillNeeded, KeepsTheFailuresAlreadyThere) {
  EXPECT_EQ(passes_still_needed(22, 0, {0.9, 0.95}).value(), 7);
  EXPECT_EQ(passes_still_needed(22, 1, {0.9, 0.95}).value(), 24);
  EXPECT_EQ(passes_still_needed(0, 0, {0.9, 0.95}).value(), 29);
  EXPECT_EQ(passes_still_needed(40, 0, {0.9, 0.95}).value(), 0);
}

TEST(PassProbability, AgreesWithTheSumByHand) {
  EXPECT_NEAR(pass_probability({46, 1}, 0.97).value(), sum_by_hand(1, 46, 0.97), 1.0e-13);
  EXPECT_EQ(pass_probability({3, 3}, 0.2).value(), 1.0);
}

TEST(OfferedPlans, MoreAllowedFailuresCostTrialsAndSpareGoodDetectors) {
  const std::array good{0.99};
  const auto plans = offered_plans({0.9, 0.95}, 2, good);
  ASSERT_TRUE(plans.has_value());
  ASSERT_EQ(plans->size(), 3u);
  for (std::size_t k = 1; k < plans->size(); ++k) {
    EXPECT_GT((*plans)[k].plan.trials, (*plans)[k - 1].plan.trials);
    EXPECT_GT((*plans)[k].chances[0].pass_probability, (*plans)[k - 1].chances[0].pass_probability);
  }
}

TEST(ChanceOfARun, AgreesWithCountingEverySequence) {
  constexpr int kTrials = 12, kRun = 4;
  constexpr double kR = 0.7;
  double chance = 0.0;
  for (unsigned word = 0; word < (1u << kTrials); ++word) {
    int run = 0, longest = 0, passes = 0;
    for (int k = 0; k < kTrials; ++k) {
      run = (word >> k) & 1u ? run + 1 : 0;
      passes += (word >> k) & 1u ? 1 : 0;
      longest = std::max(longest, run);
    }
    if (longest >= kRun) chance += std::pow(kR, passes) * std::pow(1.0 - kR, kTrials - passes);
  }
  EXPECT_NEAR(chance_of_a_run(kRun, kTrials, kR).value(), chance, 1.0e-13);
  EXPECT_EQ(chance_of_a_run(5, 4, 0.5).value(), 0.0);
}

TEST(DemonstrationRefuses, SharesOutsideZeroToOne) {
  for (const double bad : {0.0, 1.0, -0.1, 1.1, kNan, std::numeric_limits<double>::infinity()}) {
    EXPECT_FALSE(trials_needed({bad, 0.9}, 0).has_value());
    EXPECT_FALSE(trials_needed({0.9, bad}, 0).has_value());
    EXPECT_FALSE(reliability_shown(10, 0, bad).has_value());
    EXPECT_FALSE(share_interval(1, 10, bad).has_value());
    EXPECT_FALSE(pass_probability({10, 0}, bad).has_value());
    EXPECT_FALSE(passes_still_needed(10, 0, {bad, 0.9}).has_value());
    EXPECT_FALSE(chance_of_a_run(2, 10, bad).has_value());
    EXPECT_FALSE(reliability_believed(10, 0, bad, Prior::flat).has_value());
  }
}

TEST(DemonstrationRefuses, CountsThatCannotBe) {
  EXPECT_FALSE(trials_needed({0.9, 0.9}, -1).has_value());
  EXPECT_FALSE(reliability_shown(0, 0, 0.9).has_value());
  EXPECT_FALSE(reliability_shown(-1, 0, 0.9).has_value());
  EXPECT_FALSE(reliability_shown(5, -1, 0.9).has_value());
  EXPECT_FALSE(reliability_shown(5, 6, 0.9).has_value());
  EXPECT_FALSE(pass_probability({0, 0}, 0.9).has_value());
  EXPECT_FALSE(pass_probability({5, -1}, 0.9).has_value());
  EXPECT_FALSE(offered_plans({0.9, 0.9}, -1, {}).has_value());
  EXPECT_FALSE(passes_still_needed(3, 4, {0.9, 0.9}).has_value());
  EXPECT_FALSE(chance_of_a_run(0, 4, 0.5).has_value());
  EXPECT_FALSE(trials_needed({1.0 - 1.0e-15, 0.99}, 0).has_value());
  EXPECT_NE(reliability_shown(0, 0, 0.9).error().what, "");
  EXPECT_NE(reliability_shown(0, 0, 0.9).error().remedy, "");
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
