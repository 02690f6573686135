// SPDX-License-Identifier: GPL-3.0-or-later
//
// Control chart, run rules, trend, outliers and between-day comparison against worked examples.
#include <gtest/gtest.h>

#include <array>
#include <boost/math/constants/constants.hpp>
#include <cmath>

#include "analysis/statistics/between_days.hpp"
#include "analysis/statistics/control_chart.hpp"
#include "analysis/statistics/outlier.hpp"
#include "analysis/statistics/trend.hpp"
#include "tests/published/statistics_values.hpp"

namespace coldstroke::analysis::statistics {
namespace {

using nlohmann::json;
using published::expect_published;
using published::log_relative_error;
using published::numbers;
using published::statistics_case;

TEST(PublishedControlChart, HandbookFlowRates) {
  const json item = statistics_case("drift.imr");
  const auto x = numbers(item.at("inputs").at("x"));
  const ControlChart chart = control_chart(x, RuleSet::western_electric).value();
  expect_published(item, "center", chart.centre);
  expect_published(item, "mr_bar", chart.mean_moving_range);
  expect_published(item, "ucl", chart.upper_limit);
  expect_published(item, "lcl", chart.lower_limit);
  expect_published(item, "mr_ucl_3_267", chart.moving_range_limit);
  expect_published(item, "sigma_mr", chart.sigma);
  expect_published(item, "sd", describe(x)->standard_deviation);
  for (const Signal& signal : chart.signals) EXPECT_NE(signal.rule, RunRule::one_beyond_three_sigma);
}

TEST(PublishedControlChart, TheTabulatedConstantsAreRoundedClosedForms) {
  const json item = statistics_case("drift.constants");
  const auto chart = control_chart(std::array{0.0, 1.0, 0.0, 1.0}, RuleSet::nelson).value();  // mean moving range 1
  EXPECT_NEAR(1.0 / chart.sigma, item.at("expected").at("d2").get<double>(), 5.0e-4);
  EXPECT_NEAR(chart.moving_range_limit, item.at("expected").at("D4").get<double>(), 5.0e-4);
  EXPECT_NEAR(chart.upper_limit - chart.centre, item.at("expected").at("E2").get<double>(), 1.0e-3);
}

TEST(PublishedControlChart, EachNelsonRuleFiresAtItsPointAndNotBefore) {
  const json cases = statistics_case("drift.nelson").at("inputs").at("cases");
  const auto rules = rules_of(RuleSet::nelson);
  ASSERT_EQ(rules.size(), 8u);
  for (std::size_t k = 0; k < rules.size(); ++k) {
    const json& one = cases.at("rule" + std::to_string(k + 1));
    const auto fired = points_signalled(numbers(one.at("x")), 0.0, 1.0, rules[k]).value();
    ASSERT_FALSE(fired.empty()) << word(rules[k]);
    EXPECT_EQ(fired.front() + 1, one.at("first_signal").get<std::size_t>()) << word(rules[k]);
    EXPECT_TRUE(points_signalled(numbers(one.at("near_miss")), 0.0, 1.0, rules[k]).value().empty()) << word(rules[k]);
  }
}

TEST(PublishedTrend, HandbookFlowRatesDriftWhereTheChartSeesNothing) {
  const json item = statistics_case("drift.trend.flow");
  const auto y = numbers(item.at("inputs").at("y"));
  std::vector<double> x;
  for (std::size_t k = 0; k < y.size(); ++k) x.push_back(static_cast<double>(k + 1));
  const Trend trend = find_trend(x, y).value();
  expect_published(item, "slope", trend.slope);
  expect_published(item, "intercept", trend.intercept);
  expect_published(item, "stderr", trend.slope_standard_error);
  expect_published(item, "t", trend.t);
  expect_published(item, "p", trend.p_value);
  const RunsTest runs = runs_test(y).value();
  expect_published(item, "runs", static_cast<double>(runs.runs));
  expect_published(item, "runs_mean", runs.expected);
  expect_published(item, "runs_sd", runs.deviation);
  expect_published(item, "runs_z", runs.z);
}

TEST(PublishedTrend, RunsTestOfTheLewData) {
  const json item = statistics_case("drift.runs.lew");
  const RunsTest runs = runs_test(numbers(item.at("inputs").at("x"))).value();
  expect_published(item, "runs", static_cast<double>(runs.runs));
  expect_published(item, "n_above", static_cast<double>(runs.above));
  expect_published(item, "n_below", static_cast<double>(runs.below));
  expect_published(item, "mean", runs.expected);
  expect_published(item, "sd", runs.deviation);
  expect_published(item, "z", runs.z);
}

TEST(PublishedTrend, CertifiedLineOfNorris) {
  const json item = statistics_case("strd.Norris");
  const auto& want = item.at("expected");
  const Trend line = find_trend(numbers(item.at("inputs").at("x")), numbers(item.at("inputs").at("y"))).value();
  EXPECT_GE(log_relative_error(line.intercept, want.at("B0")), 11.0);
  EXPECT_GE(log_relative_error(line.slope, want.at("B1")), 13.0);
  EXPECT_GE(log_relative_error(line.intercept_standard_error, want.at("sd_B0")), 12.0);
  EXPECT_GE(log_relative_error(line.slope_standard_error, want.at("sd_B1")), 12.0);
  EXPECT_GE(log_relative_error(line.residual_deviation, want.at("residual_sd")), 12.0);
  EXPECT_GE(log_relative_error(line.explained, want.at("r_squared")), 14.0);
}

TEST(PublishedDependence, MavroAndMichelsonLeanOnTheirNeighboursAndLotteryDoesNot) {
  EXPECT_TRUE(find_dependence(numbers(statistics_case("strd.Mavro").at("inputs").at("x"))).value().suspected);
  EXPECT_TRUE(find_dependence(numbers(statistics_case("strd.Michelso").at("inputs").at("x"))).value().suspected);
  EXPECT_FALSE(find_dependence(numbers(statistics_case("strd.Lottery").at("inputs").at("x"))).value().suspected);
}

TEST(PublishedOutlier, GrubbsOnTheUraniumData) {
  const json item = statistics_case("drift.grubbs");
  const auto x = numbers(item.at("inputs").at("x"));
  const GrubbsTest largest = grubbs(x, OutlierSide::largest).value(), either = grubbs(x, OutlierSide::either).value();
  expect_published(item, "G", largest.statistic);
  expect_published(item, "crit_one_sided", largest.critical);
  expect_published(item, "crit_two_sided", either.critical);
  EXPECT_TRUE(largest.flagged);
  EXPECT_EQ(largest.suspect, 7u);
}

TEST(PublishedOutlier, GrubbsCriticalValues) {
  const json item = statistics_case("drift.grubbs.crit");
  const auto& n = item.at("inputs").at("n");
  for (std::size_t k = 0; k < n.size(); ++k) {
    expect_published(item, "one", grubbs_critical(n[k], OutlierSide::largest, 0.05).value(),
                     item.at("expected").at("one_sided")[k]);
    expect_published(item, "two", grubbs_critical(n[k], OutlierSide::either, 0.05).value(),
                     item.at("expected").at("two_sided")[k]);
  }
}

TEST(PublishedOutlier, DixonExampleBetweenTenAndFivePercent) {
  const json item = statistics_case("drift.dixon");
  const DixonTest test = dixon(numbers(item.at("inputs").at("x"))).value();
  expect_published(item, "Q", test.statistic);
  EXPECT_EQ(test.statistic > test.critical_10, item.at("expected").at("reject_at_10pct").get<bool>());
  EXPECT_EQ(test.statistic > test.critical_05, item.at("expected").at("reject_at_5pct").get<bool>());
  const auto& table = item.at("inputs").at("crit");
  for (std::size_t n = 3; n <= 10; ++n) {
    std::vector<double> x(n, 0.0);
    for (std::size_t k = 0; k < n; ++k) x[k] = static_cast<double>(k);
    const DixonTest row = dixon(x).value();
    EXPECT_EQ(row.critical_10, table.at("a10")[n - 3].get<double>());
    EXPECT_EQ(row.critical_05, table.at("a05")[n - 3].get<double>());
    EXPECT_EQ(row.critical_01, table.at("a01")[n - 3].get<double>());
  }
}

TEST(PublishedOutlier, RosnersThreeOutliersOfFiftyFour) {
  const json item = statistics_case("outlier.rosner");
  const auto& in = item.at("inputs");
  const ExtremeDeviates test = extreme_deviates(numbers(in.at("x")), in.at("most"), in.at("alpha")).value();
  ASSERT_EQ(test.steps.size(), 10u);
  for (std::size_t k = 0; k < test.steps.size(); ++k) {
    expect_published(item, "R", test.steps[k].statistic, item.at("expected").at("statistic")[k]);
    expect_published(item, "lambda", test.steps[k].critical, item.at("expected").at("critical")[k]);
  }
  EXPECT_EQ(test.flagged, item.at("expected").at("outliers").get<std::size_t>());
}

TEST(PublishedBetweenDays, CertifiedVarianceAnalysisOfSiRstv) {
  const json item = statistics_case("strd.SiRstv");
  const auto groups = item.at("inputs").at("groups").get<std::vector<std::vector<double>>>();
  const BetweenDays days = compare_days(groups).value();
  expect_published(item, "between_ss", days.between_squares);
  expect_published(item, "within_ss", days.within_squares);
  expect_published(item, "f", days.means.f);
  expect_published(item, "residual_sd", days.within_deviation);
  EXPECT_EQ(days.means.between_freedom, 4u);
  EXPECT_EQ(days.means.within_freedom, 20u);
}

TEST(PublishedBetweenDays, BrownForsytheExample) {
  const json item = statistics_case("days.levene");
  const auto groups = item.at("inputs").at("groups").get<std::vector<std::vector<double>>>();
  expect_published(item, "p", compare_days(groups).value().scatters.value().p_value);
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
