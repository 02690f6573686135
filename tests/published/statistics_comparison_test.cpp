// SPDX-License-Identifier: GPL-3.0-or-later
//
// Two samples, two shares and pairs against worked examples.
#include <gtest/gtest.h>

#include "analysis/statistics/mean_comparison.hpp"
#include "analysis/statistics/rank_comparison.hpp"
#include "analysis/statistics/share_comparison.hpp"
#include "tests/published/statistics_values.hpp"

namespace coldstroke::analysis::statistics {
namespace {

using nlohmann::json;
using published::expect_published;
using published::numbers;
using published::statistics_case;

Share row_of(const json& row) { return {row[0], row[0].get<std::int64_t>() + row[1].get<std::int64_t>()}; }

TEST(PublishedComparison, WelchAndPooledOfTwoCarFleets) {
  const json item = statistics_case("cmp.auto83b");
  const auto& in = item.at("inputs");
  const Moments a{in.at("n")[0], in.at("mean")[0], in.at("sd")[0]}, b{in.at("n")[1], in.at("mean")[1], in.at("sd")[1]};
  const MeanDifference welch = compare_means(a, b).value(), pooled = compare_means(a, b, 0.95, Scatter::pooled).value();
  expect_published(item, "t_pooled", pooled.t);
  expect_published(item, "df_pooled", pooled.freedom);
  expect_published(item, "p_pooled", pooled.p_two_sided);
  expect_published(item, "sp", pooled.standard_error / std::sqrt(1.0 / 249.0 + 1.0 / 79.0));
  expect_published(item, "tcrit_326", (pooled.interval.high - pooled.difference) / pooled.standard_error);
  expect_published(item, "t_welch", welch.t);
  expect_published(item, "df_welch", welch.freedom);
  expect_published(item, "p_welch", welch.p_two_sided);
  expect_published(item, "low", welch.interval.low, item.at("expected").at("ci95_welch")[0]);
  expect_published(item, "high", welch.interval.high, item.at("expected").at("ci95_welch")[1]);
}

TEST(PublishedComparison, FishersTea) {
  for (const char* id : {"cmp.fisher.tea", "cmp.fisher.all_right"}) {
    const json item = statistics_case(id);
    const auto& table = item.at("inputs").at("table");
    const FisherExact test = fisher_exact(row_of(table[0]), row_of(table[1])).value();
    expect_published(item, "p_two_sided", test.p_two_sided);
    expect_published(item, "p_greater", test.p_greater);
    if (item.at("expected").contains("p_less")) expect_published(item, "p_less", test.p_less);
  }
}

TEST(PublishedComparison, DetectionsOfTwoConfigurations) {
  const json item = statistics_case("cmp.fisher.detection");
  const auto& tables = item.at("inputs").at("tables");
  for (std::size_t k = 0; k < tables.size(); ++k) {
    const FisherExact test = fisher_exact(row_of(tables[k][0]), row_of(tables[k][1])).value();
    expect_published(item, "greater", test.p_greater, item.at("expected").at("p_greater")[k]);
    expect_published(item, "two", test.p_two_sided, item.at("expected").at("p_two_sided")[k]);
  }
}

TEST(PublishedComparison, NewcombeIntervals) {
  const json item = statistics_case("shares.newcombe");
  const auto& cases = item.at("inputs").at("cases");
  for (std::size_t k = 0; k < cases.size(); ++k) {
    const Interval interval = share_difference({cases[k][0], cases[k][1]}, {cases[k][2], cases[k][3]}, 0.95).value();
    expect_published(item, "low", interval.low, item.at("expected").at("low")[k]);
    expect_published(item, "high", interval.high, item.at("expected").at("high")[k]);
  }
}

TEST(PublishedComparison, MannWhitneyOnThePermeabilityData) {
  const json item = statistics_case("cmp.mannwhitney.hw");
  const MannWhitney test = mann_whitney(numbers(item.at("inputs").at("x")), numbers(item.at("inputs").at("y"))).value();
  EXPECT_TRUE(test.exact);
  expect_published(item, "U_x", test.u_first);
  expect_published(item, "p_exact_greater", test.p_greater);
  expect_published(item, "p_exact_two_sided", test.p_two_sided);
  expect_published(item, "hodges_lehmann", test.shift.value().estimate);
  expect_published(item, "low", test.shift.value().interval.low, item.at("expected").at("hl_ci95")[0]);
  expect_published(item, "high", test.shift.value().interval.high, item.at("expected").at("hl_ci95")[1]);
  expect_published(item, "hl_ci_achieved", test.shift.value().interval.confidence);
}

TEST(PublishedComparison, MannWhitneySmallExample) {
  const json item = statistics_case("cmp.mannwhitney.small");
  const MannWhitney test = mann_whitney(numbers(item.at("inputs").at("x")), numbers(item.at("inputs").at("y"))).value();
  expect_published(item, "U_x", test.u_first);
  expect_published(item, "p_exact_two_sided", test.p_two_sided);
}

TEST(PublishedComparison, EquivalenceOfTwoYields) {
  const json item = statistics_case("cmp.tost.yield");
  const auto a = numbers(item.at("inputs").at("a")), b = numbers(item.at("inputs").at("b"));
  const Moments x = moments(a).value(), y = moments(b).value();
  const Margin margin{item.at("inputs").at("margin")[0], item.at("inputs").at("margin")[1]};
  const Equivalence welch = show_equivalence(x, y, margin).value(),
                    pooled = show_equivalence(x, y, margin, 0.05, Scatter::pooled).value();
  expect_published(item, "diff", welch.means.difference);
  expect_published(item, "se_pooled", pooled.means.standard_error);
  expect_published(item, "df_pooled", pooled.means.freedom);
  expect_published(item, "p_lower_pooled", pooled.p_above_low);
  expect_published(item, "p_upper_pooled", pooled.p_below_high);
  expect_published(item, "se_welch", welch.means.standard_error);
  expect_published(item, "df_welch", welch.means.freedom);
  expect_published(item, "p_lower_welch", welch.p_above_low);
  expect_published(item, "p_upper_welch", welch.p_below_high);
  expect_published(item, "tost_p_welch", welch.p_value);
  const auto expect_interval = [&](const char* name, const Interval& got) {
    expect_published(item, name, got.low, item.at("expected").at(name)[0]);
    expect_published(item, name, got.high, item.at("expected").at(name)[1]);
  };
  expect_interval("ci90_welch", welch.means.interval);
  expect_interval("ci95_welch", compare_means(x, y).value().interval);
  expect_interval("ci95_pooled", compare_means(x, y, 0.95, Scatter::pooled).value().interval);
  expect_published(item, "hodges_lehmann", mann_whitney(a, b).value().shift.value().estimate);
  EXPECT_TRUE(welch.equivalent);
  EXPECT_FALSE(show_equivalence(x, y, margin, 0.025).value().equivalent);
}

TEST(PublishedComparison, SignedRanksOfTheDepressionData) {
  const json item = statistics_case("paired.depression");
  const SignedRank test = signed_rank(numbers(item.at("inputs").at("first")), numbers(item.at("inputs").at("second"))).value();
  EXPECT_TRUE(test.exact);
  expect_published(item, "v", test.v);
  expect_published(item, "p_greater", test.p_greater);
  expect_published(item, "p_two_sided", test.p_two_sided);
}

TEST(PublishedComparison, StudentsSleep) {
  const json item = statistics_case("paired.sleep");
  const MeanDifference test =
      compare_paired_means(numbers(item.at("inputs").at("first")), numbers(item.at("inputs").at("second"))).value();
  expect_published(item, "t", test.t);
  expect_published(item, "freedom", test.freedom);
  expect_published(item, "p", test.p_two_sided);
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
