// SPDX-License-Identifier: GPL-3.0-or-later
//
// Demonstration against published tables. Sources stand beside the values in tests/published/data/statistics.json.
#include <gtest/gtest.h>

#include "analysis/statistics/demonstration.hpp"
#include "tests/published/statistics_values.hpp"

namespace coldstroke::analysis::statistics {
namespace {

using nlohmann::json;
using published::expect_published;
using published::statistics_case;

TEST(PublishedReliability, SuccessRunTable) {
  const json item = statistics_case("rel.success_run");
  const auto& in = item.at("inputs");
  for (std::size_t r = 0; r < in.at("R").size(); ++r)
    for (std::size_t c = 0; c < in.at("C").size(); ++c)
      EXPECT_EQ(trials_needed({in.at("R")[r], in.at("C")[c]}, 0).value(), item.at("expected").at("n")[r][c].get<std::int64_t>())
          << in.at("R")[r] << " at " << in.at("C")[c];
}

TEST(PublishedReliability, PlansWithAllowedFailures) {
  const json item = statistics_case("rel.allowed_failures");
  const auto& plans = item.at("inputs").at("plans");
  for (std::size_t row = 0; row < plans.size(); ++row) {
    const std::string name = plans[row];  // "R90/C95"
    const Goal goal{std::stod(name.substr(1, 2)) / 100.0, std::stod(name.substr(5, 2)) / 100.0};
    for (std::int64_t k = 0; k < 6; ++k)
      EXPECT_EQ(trials_needed(goal, k).value(), item.at("expected").at("n")[row][static_cast<std::size_t>(k)].get<std::int64_t>())
          << name << " with " << k;
  }
}

TEST(PublishedReliability, ClopperPearsonHandbookExample) {
  const json item = statistics_case("rel.clopper_pearson.handbook");
  const auto& in = item.at("inputs");
  const Interval interval = share_interval(in.at("failures"), in.at("trials"), in.at("confidence")).value();
  expect_published(item, "lower", interval.low);
  expect_published(item, "upper", interval.high);
}

TEST(PublishedReliability, ClopperPearsonTableAndItsBayesianNeighbours) {
  const json item = statistics_case("rel.clopper_pearson.table");
  ASSERT_GE(item.at("expected").at("rows").size(), 10u);
  for (const json& row : item.at("expected").at("rows")) {
    const std::int64_t k = row.at("failures"), n = row.at("trials");
    const double c = row.at("confidence");
    const ReliabilityBound bound = reliability_shown(n, k, c).value();
    const Interval both = share_interval(k, n, c).value();
    expect_published(item, "R", bound.at_least, row.at("reliability_lower_one_sided"));
    expect_published(item, "upper", 1.0 - bound.at_least, row.at("one_sided_upper"));
    expect_published(item, "low", both.low, row.at("two_sided_lower"));
    expect_published(item, "high", both.high, row.at("two_sided_upper"));
    expect_published(item, "flat", reliability_believed(n, k, c, Prior::flat).value(), row.at("bayes_flat_R_lower"));
    expect_published(item, "jeffreys", reliability_believed(n, k, c, Prior::jeffreys).value(), row.at("bayes_jeffreys_R_lower"));
  }
}

TEST(PublishedReliability, EdgesOfTheInterval) {
  const json item = statistics_case("rel.edge");
  expect_published(item, "lower_k0", share_interval(0, 12, 0.9).value().low);
  expect_published(item, "upper_kn", share_interval(12, 12, 0.9).value().high);
  EXPECT_FALSE(share_interval(0, 0, 0.9).has_value());  // "no statement"
}

TEST(PublishedReliability, ChanceOfFishingForARun) {
  const json item = statistics_case("rel.run_hunting");
  const auto& cases = item.at("inputs").at("cases");
  for (std::size_t k = 0; k < cases.size(); ++k)
    expect_published(item, "prob", chance_of_a_run(cases[k][0], cases[k][2], cases[k][1]).value(),
                     item.at("expected").at("prob")[k]);
}

TEST(PublishedReliability, OperatingCharacteristic) {
  const json item = statistics_case("rel.oc");
  const auto& in = item.at("inputs");
  const auto reliabilities = published::numbers(in.at("R"));
  for (std::size_t n = 0; n < in.at("n").size(); ++n) {
    const auto points = operating_characteristic({in.at("n")[n], 0}, reliabilities).value();
    for (std::size_t r = 0; r < points.size(); ++r)
      expect_published(item, "pass_prob", points[r].pass_probability, item.at("expected").at("pass_prob")[n][r]);
  }
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
