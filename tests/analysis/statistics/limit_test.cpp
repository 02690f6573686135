// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/limit.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>

#include "tests/analysis/statistics/invented_values.hpp"

namespace coldstroke::analysis::statistics {
namespace {

using testing::HasSubstr;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN(), kInfinity = std::numeric_limits<double>::infinity();

/// Values whose order and shape are those of a normal sample, without chance.
std::vector<double> normal_shape(std::size_t n, double mean = 20.0, double deviation = 1.0) {
  std::vector<double> out(n);
  for (std::size_t k = 0; k < n; ++k)
    out[k] =
        mean + deviation * boost::math::quantile(boost::math::normal{}, (static_cast<double>(k) + 0.5) / static_cast<double>(n));
  return out;
}

/// Strongly skewed, without chance.
std::vector<double> skewed_shape(std::size_t n) {
  std::vector<double> out(n);
  for (std::size_t k = 0; k < n; ++k) out[k] = std::exp(1.5 * normal_shape(n, 0.0)[k]);
  return out;
}

TEST(ToleranceFactor, OneSidedLiesBelowTwoSidedAndBothFallWithMoreValues) {
  for (const Content content : {Content{0.9, 0.9}, Content{0.95, 0.95}, Content{0.99, 0.99}}) {
    double last_one = kInfinity, last_two = kInfinity;
    for (const std::size_t n : {2u, 3u, 5u, 10u, 30u, 100u, 1000u, 10000u}) {
      const double one = one_sided_factor(n, content).value(), two = two_sided_factor(n, content).value();
      EXPECT_LT(one, two);
      EXPECT_LT(one, last_one);
      EXPECT_LT(two, last_two);
      last_one = one;
      last_two = two;
    }
    EXPECT_NEAR(last_one, boost::math::quantile(boost::math::normal{}, content.share), 0.06);
  }
}

// What the factor promises, counted: in 4000 invented campaigns of 12, the limit holds 90 % of all values in 95 % of them.
TEST(ToleranceFactor, HoldsWhatItPromisesForNormalValues) {
  constexpr int kCampaigns = 4000;
  InventedValues invented{11};
  const double one = one_sided_factor(12, {0.9, 0.95}).value(), two = two_sided_factor(12, {0.9, 0.95}).value();
  const boost::math::normal unit;
  int one_held = 0, two_held = 0;
  for (int k = 0; k < kCampaigns; ++k) {
    const Description d = describe(invented.normals(12)).value();
    one_held += cdf(unit, d.mean + one * d.standard_deviation) >= 0.9 ? 1 : 0;
    two_held += cdf(unit, d.mean + two * d.standard_deviation) - cdf(unit, d.mean - two * d.standard_deviation) >= 0.9 ? 1 : 0;
  }
  // Binomial scatter of the count is 14: four of them either way.
  EXPECT_NEAR(one_held, 0.95 * kCampaigns, 56.0);
  EXPECT_NEAR(two_held, 0.95 * kCampaigns, 56.0);
}

TEST(DistributionFreeOrder, TakesTheTightestRankThatStillReaches) {
  for (std::size_t n = 59; n < 400; n += 17) {
    const std::size_t r = one_sided_order(n, {0.95, 0.95}).value();
    EXPECT_GE(confidence_reached(n, r, 0.95).value(), 0.95);
    EXPECT_LT(confidence_reached(n, r + 1, 0.95).value(), 0.95);
  }
}

TEST(DistributionFreeOrder, SaysHowManyWouldDoAndWhatTheseSupport) {
  const auto refused = one_sided_order(30, {0.95, 0.95});
  ASSERT_FALSE(refused.has_value());
  EXPECT_THAT(refused.error().remedy, HasSubstr("59 trials"));
  EXPECT_THAT(refused.error().remedy, HasSubstr("0.904"));
  EXPECT_THAT(two_sided_order(30, {0.95, 0.95}).error().remedy, HasSubstr("93 trials"));
}

TEST(ConfidenceForEach, IsBonferroni) { EXPECT_NEAR(confidence_for_each(0.95, 3).value(), 1.0 - 0.05 / 3.0, 1.0e-15); }

TEST(FindLimit, NormalShapeGetsANormalLimit) {
  const auto x = normal_shape(30);
  const LimitReport report = find_limit(x, {.quantity = "latency", .unit = "ms"}).value();
  ASSERT_TRUE(report.chosen.has_value());
  EXPECT_EQ(report.chosen->method, LimitMethod::normal);
  EXPECT_NEAR(*report.chosen->upper, report.description.mean + 2.219838 * report.description.standard_deviation, 1.0e-5);
  EXPECT_FALSE(report.chosen->lower.has_value());
  EXPECT_FALSE(report.distribution_free.has_value());  // 30 are too few at 95/95
  EXPECT_THAT(report.why, HasSubstr("which is not evidence for it"));
  EXPECT_THAT(report.sentence, HasSubstr("With 95 % confidence at least 95 % of ejections have a latency of at most 22.3 ms"));
}

TEST(FindLimit, SkewedShapeGetsOrderStatisticsOrNone) {
  const LimitReport many = find_limit(skewed_shape(100), {}).value();
  ASSERT_TRUE(many.chosen.has_value());
  EXPECT_EQ(many.chosen->method, LimitMethod::distribution_free);
  EXPECT_EQ(many.chosen->rank, one_sided_order(100, {}).value());
  EXPECT_THAT(many.why, HasSubstr("contradict"));
  const LimitReport few = find_limit(skewed_shape(30), {}).value();
  EXPECT_FALSE(few.chosen.has_value());
  EXPECT_TRUE(few.normal.has_value());  // shown, not chosen
  EXPECT_THAT(few.sentence, HasSubstr("No limit"));
}

TEST(FindLimit, OnALogScaleASkewedFloorBecomesNormal) {
  const LimitReport report = find_limit(skewed_shape(30), {.on_log_scale = true}).value();
  ASSERT_TRUE(report.chosen.has_value());
  EXPECT_EQ(report.chosen->method, LimitMethod::log_normal);
  EXPECT_GT(*report.chosen->upper, 0.0);
}

TEST(FindLimit, LowerAndUpperMirrorEachOther) {
  auto x = normal_shape(40, 5.0);
  x[3] -= 0.2;
  std::vector<double> mirrored;
  for (const double v : x) mirrored.push_back(-v);
  const double upper = find_limit(x, {.side = LimitSide::upper}).value().chosen.value().upper.value();
  const double lower = find_limit(mirrored, {.side = LimitSide::lower}).value().chosen.value().lower.value();
  EXPECT_NEAR(upper, -lower, 1.0e-12);
  const double free_upper =
      find_limit(skewed_shape(120), {.side = LimitSide::upper}).value().distribution_free.value().upper.value();
  std::vector<double> turned;
  for (const double v : skewed_shape(120)) turned.push_back(-v);
  EXPECT_EQ(free_upper, -find_limit(turned, {.side = LimitSide::lower}).value().distribution_free.value().lower.value());
}

TEST(FindLimit, BothSidesFromExtremesWhenNinetyThree) {
  auto x = skewed_shape(93);
  std::ranges::reverse(x);
  const Limit limit = find_limit(x, {.side = LimitSide::both}).value().chosen.value();
  EXPECT_EQ(*limit.lower, *std::ranges::min_element(x));
  EXPECT_EQ(*limit.upper, *std::ranges::max_element(x));
  EXPECT_GE(limit.confidence, 0.95);
}

TEST(FindLimit, ASilentDetectorCountsAsBeyondEveryLimit) {
  const auto x = normal_shape(92);
  const LimitReport one_missed = find_limit(x, {.never_reached = 1}).value();  // 93 allow the second largest
  ASSERT_TRUE(one_missed.chosen.has_value());
  EXPECT_EQ(one_missed.chosen->method, LimitMethod::distribution_free);
  EXPECT_EQ(*one_missed.chosen->upper, x.back());
  EXPECT_THAT(one_missed.why, HasSubstr("never reached"));
  const LimitReport five_missed = find_limit(x, {.never_reached = 5}).value();
  EXPECT_FALSE(five_missed.chosen.has_value());
  EXPECT_THAT(five_missed.sentence, HasSubstr("never reached"));
}

TEST(FindLimit, ACoarseChannelSaysNothingAboutShape) {
  const auto x = normal_shape(60);
  const LimitReport report = find_limit(x, {.resolution = 0.8}).value();
  EXPECT_EQ(report.chosen.value().method, LimitMethod::distribution_free);
  EXPECT_THAT(report.why, HasSubstr("one step of the channel"));
}

TEST(FindLimit, CalibrationUncertaintyWidensAndIsShownApart) {
  const LimitReport report = find_limit(normal_shape(30), {.common_expanded_uncertainty = 0.5}).value();
  EXPECT_DOUBLE_EQ(*report.upper_widened, *report.chosen->upper + 0.5);
  EXPECT_THAT(report.sentence, HasSubstr("widened by 0.5"));
}

TEST(FindLimit, FewValuesAreJudgedByShapiroWilk) {
  EXPECT_THAT(find_limit(normal_shape(6), {}).value().why, HasSubstr("Shapiro-Wilk"));
}

TEST(Normality, BothTestsIgnoreUnitAndSign) {
  const auto x = skewed_shape(20);
  std::vector<double> changed;
  for (const double v : x) changed.push_back(7.0 - 1000.0 * v);
  EXPECT_NEAR(anderson_darling(x)->statistic, anderson_darling(changed)->statistic, 1.0e-9);
  EXPECT_NEAR(shapiro_wilk(x)->statistic, shapiro_wilk(changed)->statistic, 1.0e-12);
}

// Counted over 2000 normal samples: each test contradicts in 5 % of them at 0.05 (scatter of the count 10).
TEST(Normality, ContradictsNormalValuesAsOftenAsItSays) {
  InventedValues invented{5};
  int ad = 0, sw = 0;
  for (int k = 0; k < 2000; ++k) {
    const auto x = invented.normals(25);
    ad += anderson_darling(x)->p_value < 0.05 ? 1 : 0;
    sw += shapiro_wilk(x)->p_value < 0.05 ? 1 : 0;
  }
  EXPECT_NEAR(ad, 100, 45);
  EXPECT_NEAR(sw, 100, 45);
}

TEST(Normality, AWildValueGivesASmallPAndNoTrouble) {
  auto x = normal_shape(500);
  x[10] = 1.0e9;
  EXPECT_LT(anderson_darling(x).value().p_value, 1.0e-10);
  EXPECT_LT(shapiro_wilk(x).value().p_value, 1.0e-10);
}

TEST(LimitRefuses, WhatItCannotUse) {
  const std::vector<std::vector<double>> bad{
      {}, {1.0}, {1.0, 2.0}, {1.0, kNan, 2.0}, {1.0, 2.0, kInfinity}, std::vector<double>(9, 3.0)};
  for (const auto& x : bad) {
    EXPECT_FALSE(find_limit(x, {}).has_value());
    EXPECT_FALSE(anderson_darling(x).has_value());
    EXPECT_FALSE(shapiro_wilk(x).has_value());
  }
  EXPECT_FALSE(shapiro_wilk(normal_shape(5001)).has_value());
  const auto good = normal_shape(20);
  for (const double p : {0.0, 1.0, -0.5, kNan}) {
    EXPECT_FALSE(find_limit(good, {.content = {p, 0.9}}).has_value());
    EXPECT_FALSE(find_limit(good, {.content = {0.9, p}}).has_value());
    EXPECT_FALSE(one_sided_factor(10, {p, 0.9}).has_value());
    EXPECT_FALSE(two_sided_factor(10, {0.9, p}).has_value());
    EXPECT_FALSE(howe_factor(10, {0.9, p}).has_value());
    EXPECT_FALSE(one_sided_order(10, {p, 0.9}).has_value());
    EXPECT_FALSE(two_sided_order(10, {p, 0.9}).has_value());
    EXPECT_FALSE(confidence_reached(10, 1, p).has_value());
    EXPECT_FALSE(values_needed({p, 0.9}, 1).has_value());
    EXPECT_FALSE(confidence_for_each(p, 3).has_value());
  }
  EXPECT_FALSE(one_sided_factor(1, {}).has_value());
  EXPECT_FALSE(one_sided_factor(0, {}).has_value());
  EXPECT_FALSE(confidence_reached(10, 0, 0.9).has_value());
  EXPECT_FALSE(confidence_reached(10, 11, 0.9).has_value());
  EXPECT_FALSE(values_needed({}, 3).has_value());
  EXPECT_FALSE(values_needed({0.9999999, 0.9}, 1).has_value());
  EXPECT_FALSE(confidence_for_each(0.9, 0).has_value());
  EXPECT_FALSE(find_limit(good, {.resolution = -1.0}).has_value());
  EXPECT_FALSE(find_limit(good, {.common_expanded_uncertainty = kNan}).has_value());
  EXPECT_FALSE(find_limit(std::array{1.0, 2.0, -3.0}, {.on_log_scale = true}).has_value());
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
