// SPDX-License-Identifier: GPL-3.0-or-later
//
// Two configurations compared: properties of the tests, the sentence, and what they refuse.
#include "analysis/statistics/comparison.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <limits>

#include "tests/analysis/statistics/invented_values.hpp"

namespace coldstroke::analysis::statistics {
namespace {

using testing::HasSubstr;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN(), kInfinity = std::numeric_limits<double>::infinity();

TEST(FisherExactTest, SidesTurnAroundWithTheOrder) {
  const FisherExact a = fisher_exact({7, 12}, {3, 15}).value(), b = fisher_exact({3, 15}, {7, 12}).value();
  EXPECT_NEAR(a.p_greater, b.p_less, 1.0e-14);
  EXPECT_NEAR(a.p_two_sided, b.p_two_sided, 1.0e-14);
}

TEST(FisherExactTest, AllHitOnBothSidesSaysNothing) {
  EXPECT_EQ(fisher_exact({5, 5}, {9, 9})->p_two_sided, 1.0);
  EXPECT_EQ(fisher_exact({0, 5}, {0, 9})->p_two_sided, 1.0);
}

TEST(MannWhitneyTest, AgreesWithEverySplitOfTheValues) {
  const std::vector<double> x{3.0, 8.0, 9.0}, y{1.0, 2.0, 4.0, 5.0};
  std::vector<double> all{1.0, 2.0, 3.0, 4.0, 5.0, 8.0, 9.0};
  std::vector<int> side{0, 0, 0, 0, 1, 1, 1};
  const auto u_of = [&](const std::vector<int>& split) {
    int u = 0;
    for (std::size_t i = 0; i < 7; ++i)
      for (std::size_t j = 0; j < 7; ++j)
        if (split[i] == 1 && split[j] == 0 && all[i] > all[j]) ++u;
    return u;
  };
  const MannWhitney test = mann_whitney(x, y).value();
  int splits = 0, as_large = 0;
  do {
    ++splits;
    as_large += u_of(side) >= static_cast<int>(test.u_first) ? 1 : 0;
  } while (std::ranges::next_permutation(side).found);
  EXPECT_EQ(splits, 35);
  EXPECT_NEAR(test.p_greater, static_cast<double>(as_large) / 35.0, 1.0e-15);
}

TEST(MannWhitneyTest, ExactAndNormalMeetForManyValues) {
  InventedValues invented{21};
  const auto x = invented.normals(50), y = invented.normals(50, 0.4);
  auto more = x;
  more.push_back(0.123);  // 51: no longer exact
  EXPECT_TRUE(mann_whitney(x, y)->exact);
  EXPECT_FALSE(mann_whitney(more, y)->exact);
  EXPECT_NEAR(mann_whitney(x, y)->p_two_sided, mann_whitney(more, y)->p_two_sided, 0.02);
  EXPECT_NEAR(mann_whitney(x, y)->shift->interval.low, mann_whitney(more, y)->shift->interval.low, 0.05);
}

TEST(MannWhitneyTest, ShiftMovesWithTheValues) {
  const std::vector<double> x{1.0, 2.5, 4.0, 8.0, 9.0}, y{1.5, 3.0, 3.5, 7.0};
  std::vector<double> moved;
  for (const double v : x) moved.push_back(v + 10.0);
  EXPECT_NEAR(mann_whitney(moved, y)->shift->estimate, mann_whitney(x, y)->shift->estimate + 10.0, 1.0e-12);
  EXPECT_NEAR(mann_whitney(y, x)->shift->estimate, -mann_whitney(x, y)->shift->estimate, 1.0e-12);
}

TEST(MannWhitneyTest, ASilentDetectorRanksLast) {
  const std::array reached{10.0, 11.0, 12.0, 13.0}, some_never{10.5, kInfinity, kInfinity, kInfinity};
  const MannWhitney test = mann_whitney(some_never, reached).value();
  EXPECT_LT(test.p_greater, 0.1);
  EXPECT_FALSE(test.shift.has_value());
  EXPECT_THAT(test.shift.error().what, HasSubstr("never reached"));
}

TEST(MannWhitneyTest, FewValuesReachLessConfidenceAndSaySo) {
  const Interval interval = mann_whitney(std::array{1.0, 2.0}, std::array{3.0, 4.5}).value().shift->interval;
  EXPECT_NEAR(interval.confidence, 1.0 - 2.0 / 6.0, 1.0e-12);
}

TEST(SignedRankTest, AgreesWithEverySign) {
  const std::array sizes{1.0, 2.0, 3.0, 4.0, 5.0, 6.0};
  const std::array first{1.0, -2.0, 3.0, 4.0, 5.0, 6.0}, zero{0.0, 0.0, 0.0, 0.0, 0.0, 0.0};
  const SignedRank test = signed_rank(first, zero).value();
  EXPECT_EQ(test.v, 19.0);
  int as_large = 0;
  for (unsigned signs = 0; signs < 64; ++signs) {
    double v = 0.0;
    for (std::size_t k = 0; k < 6; ++k)
      if ((signs >> k) & 1u) v += sizes[k];
    as_large += v >= test.v ? 1 : 0;
  }
  EXPECT_NEAR(test.p_greater, static_cast<double>(as_large) / 64.0, 1.0e-15);
}

TEST(SignedRankTest, EqualPairsAreLeftOutAndCounted) {
  const SignedRank test = signed_rank(std::array{1.0, 2.0, 3.0, 7.0}, std::array{1.0, 1.0, 1.0, 1.0}).value();
  EXPECT_EQ(test.equal_pairs, 1u);
  EXPECT_FALSE(test.exact);
}

TEST(McNemar, NoStimulusTheyDifferOnSaysNothing) {
  EXPECT_EQ(mcnemar(0, 0)->p_two_sided, 1.0);
  EXPECT_NEAR(mcnemar(6, 0)->p_two_sided, 2.0 / 64.0, 1.0e-15);
}

TEST(CompareMeans, TurnsAroundWithTheOrder) {
  const Moments a{12, 5.0, 1.0}, b{7, 4.0, 2.0};
  EXPECT_NEAR(compare_means(a, b)->t, -compare_means(b, a)->t, 1.0e-14);
  EXPECT_NEAR(compare_means(a, b)->interval.low, -compare_means(b, a)->interval.high, 1.0e-14);
}

TEST(ShowEquivalence, IsTheIntervalInsideTheMargin) {
  InventedValues invented{31};
  int shown = 0;
  for (int k = 0; k < 500; ++k) {
    const Moments a = moments(invented.normals(12)).value(), b = moments(invented.normals(15, 0.2, 1.5)).value();
    const Equivalence e = show_equivalence(a, b, {-1.0, 1.2}).value();
    EXPECT_EQ(e.equivalent, e.means.interval.low > -1.0 && e.means.interval.high < 1.2);
    EXPECT_NEAR(e.means.interval.confidence, 0.9, 1.0e-12);
    shown += e.equivalent ? 1 : 0;
  }
  EXPECT_GT(shown, 50);
  EXPECT_LT(shown, 450);
}

TEST(ShowEquivalence, ATrueDifferenceAtTheMarginIsRarelyCalledTheSame) {
  InventedValues invented{32};
  int shown = 0;
  for (int k = 0; k < 2000; ++k) {
    const Moments a = moments(invented.normals(30)).value(), b = moments(invented.normals(30, 1.0)).value();
    shown += show_equivalence(a, b, {-1.0, 1.0})->equivalent ? 1 : 0;
  }
  EXPECT_LE(shown, 140);  // 5 % and four times the scatter
}

ComparedSide side(const std::string& label, std::int64_t trials, std::int64_t hits, std::vector<double> values) {
  return {label, trials, hits, std::move(values)};
}

TEST(CompareConfigurations, OneSentenceForTheRange) {
  InventedValues invented{41};
  const auto fresh = invented.normals(30, 18.0, 1.0);
  const auto old = invented.normals(24, 24.0, 1.0);
  const Comparison c = compare_configurations(side("new firmware", 30, 30, fresh), side("old firmware", 30, 24, old),
                                              {.margin = 2.0, .quantity = "latency", .unit = "ms"})
                           .value();
  EXPECT_EQ(c.detects, Direction::more);
  EXPECT_EQ(c.quantity, Direction::less);
  EXPECT_THAT(c.sentence, HasSubstr("new firmware decided in time in 30 of 30, old firmware decided in time in 24 of 30: new "
                                    "firmware does so more often (p = 0.024)"));
  EXPECT_THAT(c.sentence, HasSubstr("ms smaller"));
  EXPECT_THAT(c.sentence, HasSubstr("where they decided, the latency is not shown to be the same within 2.00 ms"));
  EXPECT_EQ(c.numbers.size(), 6u);
}

TEST(CompareConfigurations, TheSameTwiceWithinAMargin) {
  InventedValues invented{42};
  const auto x = invented.normals(40, 18.0, 0.5), y = invented.normals(40, 18.0, 0.5);
  const Comparison c = compare_configurations(side("A", 40, 40, x), side("B", 40, 40, y), {.margin = 1.0, .unit = "ms"}).value();
  EXPECT_EQ(c.detects, Direction::not_shown);
  EXPECT_THAT(c.sentence, HasSubstr("where they decided, the latency is the same within 1.00 ms"));
}

TEST(CompareConfigurations, WithoutAMarginSamenessIsNotClaimed) {
  InventedValues invented{43};
  const auto x = invented.normals(10), y = invented.normals(10);
  const Comparison c = compare_configurations(side("A", 10, 10, x), side("B", 10, 10, y), {}).value();
  EXPECT_FALSE(c.equivalence.has_value());
  EXPECT_THAT(c.sentence, HasSubstr("not tested, as no margin was set"));
}

TEST(CompareConfigurations, AllMissedOnOneSide) {
  InventedValues invented{44};
  const Comparison c = compare_configurations(side("A", 8, 8, invented.normals(8)), side("B", 8, 0, {}), {.margin = 1.0}).value();
  EXPECT_EQ(c.detects, Direction::more);
  EXPECT_EQ(c.quantity, Direction::less);  // by order: never is last
  EXPECT_FALSE(c.means.has_value());
  EXPECT_THAT(c.means.error().what, HasSubstr("B: 0 values"));
}

TEST(CompareConfigurations, NothingReachedOnEitherSide) {
  const Comparison c = compare_configurations(side("A", 4, 0, {}), side("B", 4, 0, {}), {}).value();
  EXPECT_FALSE(c.order.has_value());
  EXPECT_EQ(c.quantity, Direction::not_shown);
  EXPECT_THAT(c.sentence, HasSubstr("not compared"));
}

TEST(CompareOnSameStimuli, PairsDecideWhatTwoHeapsCannot) {
  PairedSides sides{"new", "old", {}, {}};
  InventedValues invented{45};
  for (int k = 0; k < 20; ++k) {
    const double stimulus = 100.0 * invented.unit();
    sides.first.emplace_back(stimulus + 1.0 + 0.1 * invented.normal());
    sides.second.emplace_back(stimulus + 2.0 + 0.1 * invented.normal());
  }
  sides.second[3].reset();
  sides.first[7] = *sides.second[7] + 5.0;
  const PairedComparison c = compare_on_same_stimuli(sides, {.quantity = "latency", .unit = "ms"}).value();
  EXPECT_EQ(c.outcomes->only_first, 1);
  EXPECT_EQ(c.worst, 7u);
  EXPECT_LT(c.order->p_two_sided, 0.01);
  EXPECT_NEAR(c.order->shift->estimate, -1.0, 0.2);
  EXPECT_THAT(c.sentence, HasSubstr("Stimuli given to both: 20; decided by new alone: 1, by old alone: 0"));
  EXPECT_THAT(c.sentence, HasSubstr("ms smaller"));
  EXPECT_EQ(c.numbers.size(), 5u);
}

TEST(CompareOnSameStimuli, BitForBitTheSameAnswers) {
  const PairedSides sides{"A", "B", {1.0, 2.0, std::nullopt}, {1.0, 2.0, std::nullopt}};
  const PairedComparison c = compare_on_same_stimuli(sides, {}).value();
  EXPECT_FALSE(c.order.has_value());
  EXPECT_THAT(c.sentence, HasSubstr("every pair is equal"));
}

TEST(ComparisonRefuses, SidesThatCannotBe) {
  const ComparedSide good = side("A", 3, 3, {1.0, 2.0, 3.0});
  const std::vector<ComparedSide> bad{side("B", 0, 0, {}),         side("B", -1, 0, {}),       side("B", 3, 4, {}),
                                      side("B", 3, -1, {}),        side("B", 2, 2, {1, 2, 3}), side("B", 3, 3, {1.0, kNan}),
                                      side("B", 3, 3, {kInfinity})};
  for (const ComparedSide& one : bad) {
    EXPECT_FALSE(compare_configurations(good, one, {}).has_value());
    EXPECT_FALSE(compare_configurations(one, good, {}).has_value());
  }
  for (const double c : {0.0, 1.0, kNan}) EXPECT_FALSE(compare_configurations(good, good, {.confidence = c}).has_value());
  for (const double m : {0.0, -1.0, kNan}) EXPECT_FALSE(compare_configurations(good, good, {.margin = m}).has_value());
  EXPECT_FALSE(compare_on_same_stimuli({"A", "B", {1.0}, {}}, {}).has_value());
  EXPECT_FALSE(compare_on_same_stimuli({"A", "B", {}, {}}, {}).has_value());
  EXPECT_FALSE(compare_on_same_stimuli({"A", "B", {kNan}, {1.0}}, {}).has_value());
}

TEST(ComparisonRefuses, ValuesThatCannotBe) {
  const std::vector<double> good{1.0, 2.0, 4.0}, none, with_nan{1.0, kNan, 2.0}, minus{1.0, -kInfinity, 2.0};
  for (const auto& x : {none, with_nan, minus}) {
    EXPECT_FALSE(mann_whitney(x, good).has_value());
    EXPECT_FALSE(mann_whitney(good, x).has_value());
    EXPECT_FALSE(signed_rank(x, good).has_value());
    EXPECT_FALSE(sign_test(x, good).has_value());
    EXPECT_FALSE(compare_paired_means(x, good).has_value());
    EXPECT_FALSE(moments(x).has_value());
  }
  EXPECT_FALSE(mann_whitney(std::array{2.0, 2.0}, std::array{2.0}).has_value());  // zero spread
  EXPECT_FALSE(mann_whitney(std::vector<double>(5001, 1.0), good).has_value());
  EXPECT_FALSE(signed_rank(good, good).has_value());
  EXPECT_FALSE(compare_paired_means(good, good).has_value());
  EXPECT_FALSE(compare_means({5, 1.0, 0.0}, {5, 2.0, 0.0}).has_value());
  EXPECT_FALSE(compare_means({1, 1.0, 0.0}, {5, 2.0, 1.0}).has_value());
  EXPECT_FALSE(compare_means({5, kNan, 1.0}, {5, 2.0, 1.0}).has_value());
  EXPECT_FALSE(compare_means({5, 1.0, -1.0}, {5, 2.0, 1.0}).has_value());
  const Moments a{5, 1.0, 1.0};
  EXPECT_FALSE(show_equivalence(a, a, {1.0, -1.0}).has_value());
  EXPECT_FALSE(show_equivalence(a, a, {0.0, 0.0}).has_value());
  EXPECT_FALSE(show_equivalence(a, a, {-kInfinity, 1.0}).has_value());
  EXPECT_FALSE(show_equivalence(a, a, {-1.0, 1.0}, 0.5).has_value());
  EXPECT_FALSE(show_equivalence(a, a, {-1.0, 1.0}, 0.0).has_value());
  EXPECT_FALSE(mcnemar(-1, 2).has_value());
  EXPECT_FALSE(fisher_exact({1, 0}, {1, 2}).has_value());
  EXPECT_FALSE(fisher_exact({-1, 3}, {1, 2}).has_value());
  EXPECT_FALSE(fisher_exact({1, 20'000'000}, {1, 2}).has_value());
  for (const double c : {0.0, 1.0, kNan}) {
    EXPECT_FALSE(share_difference({1, 2}, {1, 2}, c).has_value());
    EXPECT_FALSE(mann_whitney(good, good, c).has_value());
    EXPECT_FALSE(signed_rank(good, std::array{3.0, 3.0, 3.0}, c).has_value());
    EXPECT_FALSE(compare_means(a, a, c).has_value());
  }
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
