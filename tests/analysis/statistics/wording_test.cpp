// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/wording.hpp"

#include <gtest/gtest.h>

#include <limits>

namespace coldstroke::analysis::statistics {
namespace {

TEST(Wording, RoundsTheWayItIsAsked) {
  EXPECT_EQ(fixed(0.90063, 3), "0.901");
  EXPECT_EQ(fixed(0.90063, 3, Rounding::down), "0.900");
  EXPECT_EQ(fixed(0.9001, 2, Rounding::up), "0.91");
  EXPECT_EQ(fixed(0.9, 3, Rounding::down), "0.900");  // not 0.899
  EXPECT_EQ(fixed(0.29, 2, Rounding::down), "0.29");
  EXPECT_EQ(fixed(-0.001, 2), "0.00");
  EXPECT_EQ(fixed(-1.25, 1, Rounding::up), "-1.2");
}

TEST(Wording, SignificantDigits) {
  EXPECT_EQ(significant(20.5644, 3, Rounding::up), "20.6");
  EXPECT_EQ(significant(8.67568, 3, Rounding::down), "8.67");
  EXPECT_EQ(significant(0.012345, 2), "0.012");
  EXPECT_EQ(significant(-123456.0, 3), "-123456");
  EXPECT_EQ(significant(0.0, 3), "0");
  EXPECT_EQ(significant(1.5e-9, 2), "1.5e-09");
  EXPECT_EQ(significant(std::numeric_limits<double>::infinity(), 3), "infinite");
}

TEST(Wording, SharesAndPercentages) {
  EXPECT_EQ(share(0.9), "0.90");
  EXPECT_EQ(share(0.995), "0.995");
  EXPECT_EQ(percent(0.95), "95 %");
  EXPECT_EQ(percent(0.995), "99.5 %");
  EXPECT_EQ(percent(0.07), "7 %");
  EXPECT_EQ(probability(1.0e-9), "p < 0.001");
  EXPECT_EQ(probability(0.0117), "p = 0.012");
  EXPECT_EQ(counted(1, "trial"), "1 trial");
  EXPECT_EQ(counted(0, "trial"), "0 trials");
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
