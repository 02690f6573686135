// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/sample.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>

namespace coldstroke::analysis::statistics {
namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN(), kInfinity = std::numeric_limits<double>::infinity();

TEST(Describe, SmallListByHand) {
  const Description d = describe(std::array{3.0, 1.0, 2.0, 10.0}).value();
  EXPECT_EQ(d.count, 4u);
  EXPECT_DOUBLE_EQ(d.mean, 4.0);
  EXPECT_DOUBLE_EQ(d.standard_deviation, std::sqrt(50.0 / 3.0));
  EXPECT_EQ(d.smallest, 1.0);
  EXPECT_EQ(d.median, 2.5);
  EXPECT_EQ(d.largest, 10.0);
}

TEST(Describe, EqualValuesHaveNoDeviationAtAll) {
  EXPECT_EQ(describe(std::vector<double>(7, 0.1)).value().standard_deviation, 0.0);
  EXPECT_EQ(describe(std::vector<double>(1001, 123.456)).value().standard_deviation, 0.0);
}

TEST(Describe, MovesAndStretchesWithTheValues) {
  const std::vector<double> x{1.0, 2.5, 2.0, 7.0, 4.5};
  std::vector<double> moved, stretched;
  for (const double v : x) {
    moved.push_back(v + 1000.0);
    stretched.push_back(-3.0 * v);
  }
  const Description d = describe(x).value();
  EXPECT_NEAR(describe(moved)->mean, d.mean + 1000.0, 1.0e-12);
  EXPECT_NEAR(describe(moved)->standard_deviation, d.standard_deviation, 1.0e-12);
  EXPECT_NEAR(describe(stretched)->mean, -3.0 * d.mean, 1.0e-12);
  EXPECT_NEAR(describe(stretched)->standard_deviation, 3.0 * d.standard_deviation, 1.0e-12);
}

TEST(Rank, TiesShareTheirPlaces) {
  const Ranking r = rank(std::array{5.0, 1.0, 5.0, kInfinity, 5.0, 2.0});
  EXPECT_EQ(r.ranks, (std::vector<double>{4.0, 1.0, 4.0, 6.0, 4.0, 2.0}));
  EXPECT_EQ(r.tie_sum, 24.0);
  EXPECT_TRUE(rank({}).ranks.empty());
}

TEST(LagOne, AlternatingLeansTheOtherWay) {
  EXPECT_LT(lag_one_autocorrelation(std::array{1.0, -1.0, 1.0, -1.0, 1.0, -1.0}).value(), -0.7);
  EXPECT_GT(lag_one_autocorrelation(std::array{1.0, 2.0, 3.0, 4.0, 5.0, 6.0}).value(), 0.4);
}

TEST(SampleRefuses, EmptyOneEqualAndWhatIsNoNumber) {
  const std::vector<std::vector<double>> bad{{}, {1.0}, {1.0, kNan, 2.0}, {1.0, kInfinity, 3.0}};
  for (const auto& x : bad) {
    EXPECT_FALSE(describe(x).has_value());
    EXPECT_FALSE(mean_interval(x, 0.9).has_value());
    EXPECT_FALSE(deviation_interval(x, 0.9).has_value());
    EXPECT_FALSE(lag_one_autocorrelation(x).has_value());
  }
  const std::vector<double> equal(5, 2.0), good{1.0, 2.0, 4.0};
  EXPECT_FALSE(mean_interval(equal, 0.9).has_value());
  EXPECT_FALSE(deviation_interval(equal, 0.9).has_value());
  EXPECT_FALSE(lag_one_autocorrelation(equal).has_value());
  for (const double c : {0.0, 1.0, -1.0, kNan}) {
    EXPECT_FALSE(mean_interval(good, c).has_value());
    EXPECT_FALSE(deviation_interval(good, c).has_value());
  }
  EXPECT_EQ(describe(std::array{1.0, kNan}).error().what, "value 2 is not a finite number");
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
