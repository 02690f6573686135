// SPDX-License-Identifier: GPL-3.0-or-later
//
// Control chart, trend, outliers and days: properties, and what they refuse.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <limits>
#include <numeric>

#include "analysis/statistics/between_days.hpp"
#include "analysis/statistics/control_chart.hpp"
#include "analysis/statistics/outlier.hpp"
#include "analysis/statistics/trend.hpp"
#include "tests/analysis/statistics/invented_values.hpp"

namespace coldstroke::analysis::statistics {
namespace {

using testing::Contains;
using testing::ElementsAre;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

std::vector<double> index(std::size_t n) {
  std::vector<double> out(n);
  std::iota(out.begin(), out.end(), 1.0);
  return out;
}

TEST(RunRules, AreTheSameUpsideDownAndInAnotherUnit) {
  InventedValues invented{3};
  const auto x = invented.normals(400);
  std::vector<double> turned;
  for (const double v : x) turned.push_back(100.0 - 4.0 * v);
  for (const RuleSet set : {RuleSet::nelson, RuleSet::western_electric})
    for (const RunRule rule : rules_of(set))
      EXPECT_EQ(points_signalled(x, 0.0, 1.0, rule).value(), points_signalled(turned, 100.0, 4.0, rule).value()) << word(rule);
}

TEST(RunRules, APointOnTheCentreBreaksARun) {
  std::vector<double> x(9, 0.5);
  EXPECT_THAT(points_signalled(x, 0.0, 1.0, RunRule::nine_on_one_side).value(), ElementsAre(8u));
  EXPECT_THAT(points_signalled(x, 0.0, 1.0, RunRule::eight_on_one_side).value(), ElementsAre(7u, 8u));
  x[4] = 0.0;
  EXPECT_THAT(points_signalled(x, 0.0, 1.0, RunRule::eight_on_one_side).value(), ElementsAre());
}

TEST(RunRules, EightBeyondOneSigmaMustUseBothSides) {
  EXPECT_TRUE(points_signalled(std::vector<double>(8, 1.5), 0.0, 1.0, RunRule::eight_beyond_one_sigma).value().empty());
}

TEST(RunRules, TwoNeighboursBeyondTwoSigmaAreEnough) {
  EXPECT_THAT(points_signalled(std::array{2.1, 2.1}, 0.0, 1.0, RunRule::two_of_three_beyond_two_sigma).value(), ElementsAre(1u));
}

// As docs/statistics.md warns: with limits from the same 30 steady values, one campaign in 14 is signalled by the three
// sigma rule, one in five or six by the four Western Electric rules. 3000 invented campaigns, scatter of the counts below 22.
TEST(ControlChart, FalseAlarmsOfASteadyCampaign) {
  constexpr int kCampaigns = 3000;
  InventedValues invented{17};
  int three_sigma = 0, nelson_four = 0;
  for (int k = 0; k < kCampaigns; ++k) {
    const ControlChart chart = control_chart(invented.normals(30), RuleSet::nelson).value();
    bool first = false, four = false;
    for (const Signal& signal : chart.signals) {
      first = first || signal.rule == RunRule::one_beyond_three_sigma;
      four = four || signal.rule == RunRule::one_beyond_three_sigma || signal.rule == RunRule::nine_on_one_side ||
             signal.rule == RunRule::two_of_three_beyond_two_sigma || signal.rule == RunRule::four_of_five_beyond_one_sigma;
    }
    three_sigma += first ? 1 : 0;
    nelson_four += four ? 1 : 0;
  }
  EXPECT_NEAR(three_sigma, 0.07 * kCampaigns, 0.02 * kCampaigns);
  EXPECT_NEAR(nelson_four, 0.18 * kCampaigns, 0.03 * kCampaigns);
}

TEST(ControlChart, AShiftIsSeenAgainstABaselineThatDoesNotHoldIt) {
  InventedValues invented{2};
  auto x = invented.normals(20, 10.0);
  const auto later = invented.normals(10, 18.0);
  x.insert(x.end(), later.begin(), later.end());
  const ControlChart chart = control_chart(x, RuleSet::western_electric, 20).value();
  EXPECT_NEAR(chart.centre, 10.0, 1.0);
  for (std::size_t point = 21; point < 30; ++point) EXPECT_THAT(chart.signals, Contains(testing::Field(&Signal::point, point)));
  EXPECT_THAT(chart.ranges_signalled, Contains(20u));
  EXPECT_TRUE(std::ranges::is_sorted(chart.signals, {}, &Signal::point));
}

TEST(ControlChart, RefusesWhatItCannotUse) {
  const std::vector<std::vector<double>> bad{{}, {1.0}, {1.0, 2.0}, {1.0, kNan, 3.0}, std::vector<double>(20, 7.0)};
  for (const auto& x : bad) EXPECT_FALSE(control_chart(x, RuleSet::nelson).has_value());
  const std::array x{1.0, 1.0, 1.0, 2.0};
  EXPECT_FALSE(control_chart(x, RuleSet::nelson, 1).has_value());
  EXPECT_FALSE(control_chart(x, RuleSet::nelson, 2).has_value());
  EXPECT_FALSE(control_chart(x, RuleSet::nelson, 3).has_value());  // does not move
  EXPECT_FALSE(control_chart(x, RuleSet::nelson, 5).has_value());
  EXPECT_FALSE(points_signalled(x, 0.0, 0.0, RunRule::nine_on_one_side).has_value());
  EXPECT_FALSE(points_signalled(x, kNan, 1.0, RunRule::nine_on_one_side).has_value());
  EXPECT_FALSE(points_signalled({}, 0.0, 1.0, RunRule::nine_on_one_side).has_value());
}

TEST(FindTrend, ExactLine) {
  const Trend t = find_trend(std::array{1.0, 2.0, 4.0, 8.0}, std::array{1.0, 3.0, 7.0, 15.0}).value();
  EXPECT_NEAR(t.slope, 2.0, 1.0e-14);
  EXPECT_NEAR(t.intercept, -1.0, 1.0e-13);
  EXPECT_NEAR(t.explained, 1.0, 1.0e-14);
  EXPECT_LT(t.p_value, 1.0e-12);
  EXPECT_NEAR(t.change_over_range.low, 14.0, 1.0e-12);
}

TEST(FindTrend, FarFromTheOriginNoDigitsGo) {
  const auto x = index(20);
  InventedValues invented{4};
  const auto noise = invented.normals(20);
  std::vector<double> far, y;
  for (std::size_t k = 0; k < 20; ++k) {
    far.push_back(x[k] + 1.0e7);
    y.push_back(0.5 * x[k] + noise[k]);
  }
  EXPECT_NEAR(find_trend(far, y)->slope, find_trend(x, y)->slope, 1.0e-11);
  EXPECT_NEAR(find_trend(far, y)->slope_standard_error, find_trend(x, y)->slope_standard_error, 1.0e-11);
}

TEST(FindTrend, ItsIntervalHoldsTheTruthAsOftenAsItSays) {
  InventedValues invented{8};
  const auto x = index(12);
  int held = 0;
  for (int k = 0; k < 2000; ++k) {
    auto y = invented.normals(12);
    for (std::size_t i = 0; i < 12; ++i) y[i] += 0.3 * x[i];
    const Interval slope = find_trend(x, y, 0.9)->slope_interval;
    held += slope.low <= 0.3 && 0.3 <= slope.high ? 1 : 0;
  }
  EXPECT_NEAR(held, 1800, 54);  // four times the scatter of the count
}

TEST(Correlation, SpearmanSeesOrderPearsonSeesLines) {
  const std::array x{1.0, 2.0, 3.0, 4.0, 5.0}, y{1.0, 8.0, 27.0, 64.0, 125.0};
  EXPECT_DOUBLE_EQ(spearman(x, y)->coefficient, 1.0);
  EXPECT_TRUE(spearman(x, y)->exact);
  EXPECT_NEAR(spearman(x, y)->p_value, 2.0 / 120.0, 1.0e-15);  // two of 5! orders
  EXPECT_LT(pearson(x, y)->coefficient, 1.0);
}

TEST(Correlation, SpearmanWithTiesByEveryOrder) {
  const std::array x{1.0, 1.0, 2.0, 3.0}, y{1.0, 2.0, 2.0, 3.0};
  const Correlation c = spearman(x, y).value();
  EXPECT_TRUE(c.exact);
  EXPECT_GT(c.p_value, 0.05);
  EXPECT_LT(c.p_value, 0.5);
}

TEST(Correlation, PearsonOfAnExactLineIsCertain) {
  const auto x = index(6);
  EXPECT_EQ(pearson(x, x)->p_value, 0.0);
  EXPECT_FALSE(pearson_interval(x, x, 0.9).has_value());
}

TEST(RunsTest, TooFewRunsOfADrift) {
  const RunsTest t = runs_test(index(20)).value();
  EXPECT_EQ(t.runs, 2u);
  EXPECT_LT(t.z, -3.0);
  EXPECT_LT(t.p_value, 0.01);
}

TEST(TrendRefuses, WhatItCannotUse) {
  const auto good = index(5);
  const std::vector<std::vector<double>> bad{{},      {1.0}, {1.0, 2.0}, {1.0, 2.0, 3.0, 4.0, kNan}, std::vector<double>(5, 1.0),
                                             index(4)};
  for (const auto& x : bad) {
    EXPECT_FALSE(find_trend(x, good).has_value());
    EXPECT_FALSE(find_trend(good, x).has_value());
    EXPECT_FALSE(pearson(x, good).has_value());
    EXPECT_FALSE(spearman(good, x).has_value());
    EXPECT_FALSE(pearson_interval(x, good, 0.9).has_value());
  }
  for (const auto& x : {bad[0], bad[1], bad[2], bad[3], bad[4]}) {
    EXPECT_FALSE(runs_test(x).has_value());
    EXPECT_FALSE(find_dependence(x).has_value());
  }
  EXPECT_FALSE(runs_test(std::array{1.0, 1.0, 1.0, 2.0}).has_value());  // nothing below the median
  for (const double c : {0.0, 1.0, kNan}) {
    EXPECT_FALSE(find_trend(good, good, c).has_value());
    EXPECT_FALSE(pearson_interval(good, index(5), c).has_value());
  }
}

TEST(Grubbs, FlagsTheFarValueOnItsSideOnly) {
  const std::array x{1.0, 1.1, 0.9, 1.05, 0.95, 1.0, -4.0};
  EXPECT_TRUE(grubbs(x, OutlierSide::smallest)->flagged);
  EXPECT_TRUE(grubbs(x, OutlierSide::either)->flagged);
  EXPECT_FALSE(grubbs(x, OutlierSide::largest)->flagged);
  EXPECT_EQ(grubbs(x, OutlierSide::either)->suspect, 6u);
}

TEST(Grubbs, FlagsSteadyValuesAsOftenAsItSays) {
  InventedValues invented{6};
  int flagged = 0;
  for (int k = 0; k < 2000; ++k) flagged += grubbs(invented.normals(15), OutlierSide::either)->flagged ? 1 : 0;
  EXPECT_NEAR(flagged, 100, 40);
}

TEST(ExtremeDeviates, FindsTwoThatHideEachOtherFromGrubbs) {
  InventedValues invented{9};
  auto x = invented.normals(25);
  x[4] = 9.0;
  x[20] = 9.5;
  const ExtremeDeviates out = extreme_deviates(x, 5).value();
  ASSERT_GE(out.flagged, 2u);
  EXPECT_EQ(out.steps[0].place, 20u);
  EXPECT_EQ(out.steps[1].place, 4u);
}

TEST(ExtremeDeviates, StopsWhenWhatIsLeftIsAllTheSame) {
  const ExtremeDeviates out = extreme_deviates(std::array{1.0, 1.0, 1.0, 1.0, 1.0, 2.0}, 3).value();
  EXPECT_EQ(out.steps.size(), 1u);
}

TEST(OutlierRefuses, WhatItCannotUse) {
  const std::vector<std::vector<double>> bad{{}, {1.0}, {1.0, 2.0}, {1.0, 2.0, kNan}, std::vector<double>(6, 1.0)};
  for (const auto& x : bad) {
    EXPECT_FALSE(grubbs(x, OutlierSide::either).has_value());
    EXPECT_FALSE(extreme_deviates(x, 1).has_value());
    EXPECT_FALSE(dixon(x).has_value());
  }
  const auto good = index(8);
  EXPECT_FALSE(extreme_deviates(good, 0).has_value());
  EXPECT_FALSE(extreme_deviates(good, 7).has_value());
  EXPECT_FALSE(dixon(index(11)).has_value());
  for (const double a : {0.0, 1.0, kNan}) {
    EXPECT_FALSE(grubbs(good, OutlierSide::either, a).has_value());
    EXPECT_FALSE(extreme_deviates(good, 2, a).has_value());
    EXPECT_FALSE(grubbs_critical(8, OutlierSide::largest, a).has_value());
  }
  EXPECT_FALSE(grubbs_critical(2, OutlierSide::largest, 0.05).has_value());
}

TEST(CompareDays, TwoDaysAreTheSquareOfThePooledT) {
  const std::vector<std::vector<double>> days{{1.0, 2.0, 3.0}, {2.0, 4.0, 6.0, 4.0}};
  const BetweenDays out = compare_days(days).value();
  // t = (2 - 4) / sqrt(s2 (1/3 + 1/4)), s2 = (2 + 8) / 5
  EXPECT_NEAR(out.means.f, 4.0 / (2.0 * (1.0 / 3.0 + 1.0 / 4.0)), 1.0e-12);
  EXPECT_NEAR(out.within_deviation, std::sqrt(2.0), 1.0e-12);
  EXPECT_EQ(out.groups.size(), 2u);
}

TEST(CompareDays, SeparatesRepeatabilityFromDays) {
  InventedValues invented{10};
  std::vector<std::vector<double>> days;
  for (int day = 0; day < 60; ++day) days.push_back(invented.normals(8, 3.0 * invented.normal(), 1.0));
  const BetweenDays out = compare_days(days).value();
  EXPECT_NEAR(out.within_deviation, 1.0, 0.15);
  EXPECT_NEAR(out.between_deviation, 3.0, 0.9);
  EXPECT_LT(out.means.p_value, 1.0e-6);
}

TEST(CompareDays, RefusesWhatItCannotUse) {
  using Days = std::vector<std::vector<double>>;
  EXPECT_FALSE(compare_days({}).has_value());
  EXPECT_FALSE(compare_days(Days{{1.0, 2.0}}).has_value());
  EXPECT_FALSE(compare_days(Days{{1.0, 2.0}, {}}).has_value());
  EXPECT_FALSE(compare_days(Days{{1.0}, {2.0}}).has_value());
  EXPECT_FALSE(compare_days(Days{{0.1, 0.1, 0.1}, {0.3, 0.3}}).has_value());
  EXPECT_FALSE(compare_days(Days{{1.0, kNan}, {2.0, 3.0}}).has_value());
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
