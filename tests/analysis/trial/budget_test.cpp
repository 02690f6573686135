// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/budget.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "analysis/trial/peak.hpp"

namespace coldstroke::analysis {
namespace {

TEST(FoldedHalfWidth, HasItsTwoLimitsAndAnIndependentMiddle) {
  EXPECT_NEAR(folded_half_width(2.0, 0.0, 0.95), 2.0 * 1.959964, 1.0e-5);
  EXPECT_NEAR(folded_half_width(0.0, 2.0, 0.95), 1.9, 1.0e-12);
  // By numerical integration over the rectangle.
  const double x = folded_half_width(1.0, 2.0, 0.95);
  double p = 0.0;
  constexpr int n = 20000;
  for (int i = 0; i < n; ++i) {
    const double u = -2.0 + 4.0 * (i + 0.5) / n;
    p += (0.5 * std::erfc(-(x - u) / std::sqrt(2.0)) - 0.5 * std::erfc((x + u) / std::sqrt(2.0))) / n;
  }
  EXPECT_NEAR(p, 0.95, 1.0e-6);
}

TEST(Budget, PropagatesAsTheGuideDoes) {
  // Net impulse J = (k F + b - m g) t with the inputs of an ordinary force measurement; combined value from JCGM 100:2008 clause
  // 5 by hand and checked by Monte Carlo elsewhere: u(J) = 0.05011707.
  Budget budget;
  budget.add("gain", 0.005, "1", 6.0);
  budget.add("mean reading", 0.6, "N", 0.05);
  budget.add("baseline", 0.2886751346, "N", 0.05, Spread::rectangular);
  budget.add("mass", 0.001, "kg", -0.4903325);
  budget.add("window", 0.0002, "s", 112.15468);
  EXPECT_NEAR(budget.standard_uncertainty(), 0.05011707, 1.0e-7);
  const Measured m = budget.measured(5.607734);
  EXPECT_EQ(m.budget.size(), 5u);
  EXPECT_GE(m.budget[0].share, m.budget[1].share);
  EXPECT_NEAR(m.high_95 - m.low_95, 2.0 * 1.96 * 0.05011707, 0.002);
}

TEST(Budget, ADifferenceLeavesOutWhatBothShare) {
  Budget a, b;
  a.add("stroke", 1.0, "m", 3.0);
  b.add("stroke", 1.0, "m", 3.0);
  a.add("noise a", 1.0, "N", 4.0);
  b.add("noise b", 1.0, "N", 3.0);
  EXPECT_NEAR(Budget::of_difference(a, b), 5.0, 1.0e-12);
  EXPECT_NEAR(Budget::of_difference(a, a), 0.0, 1.0e-12);
}

/// One mass that raises a number here and lowers it there: JCGM 100:2008, 5.2.2, fully correlated.
TEST(Budget, AnInputThatComesTwiceIsOneLine) {
  Budget budget;
  budget.add("mass", 0.1, "kg", 50.0);
  budget.add("gain", 0.01, "1", 300.0);
  budget.add("mass", 0.1, "kg", -10.0);
  budget.add("mass", 0.1, "g", 10.0);
  EXPECT_NEAR(budget.standard_uncertainty(), std::sqrt(4.0 * 4.0 + 3.0 * 3.0 + 1.0), 1.0e-12);
  const Measured measured = budget.measured(1.0);
  ASSERT_EQ(measured.budget.size(), 3U);
  EXPECT_NEAR(measured.budget.front().share, 4.0, 1.0e-12);
}

TEST(Budget, LinesWithoutWeightAreDropped) {
  Budget budget;
  budget.add("nothing", 0.0, "1", 5.0);
  budget.add("not a number", NAN, "1", 5.0);
  EXPECT_TRUE(budget.measured(1.0).budget.empty());
  EXPECT_EQ(budget.measured(1.0).low_95, 1.0);
}

TEST(PeakHeight, TakesTheTopOfAParabolaExactly) {
  std::vector<double> y;
  for (int i = 0; i < 30; ++i) y.push_back(7.0 - 0.1 * (i - 14.3) * (i - 14.3));
  const PeakHeight got = peak_height(y, 3, 0.0);
  EXPECT_NEAR(got.place, 14.3, 1.0e-9);
  EXPECT_NEAR(got.height, 7.0, 1.0e-9);
  EXPECT_NEAR(got.shape_uncertainty, 0.0, 1.0e-9);
}

TEST(PeakHeight, CopesWithOneSampleAndWithPeaksAtTheEnds) {
  EXPECT_EQ(peak_height(std::vector<double>{4.0}, 3, 1.0).height, 4.0);
  EXPECT_NEAR(peak_height(std::vector<double>{5, 4, 3, 2, 1}, 1, 0.0).height, 5.0, 1.0e-12);
}

}  // namespace
}  // namespace coldstroke::analysis
