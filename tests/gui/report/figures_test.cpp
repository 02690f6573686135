// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/figures.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "analysis/trial/metric.hpp"

namespace coldstroke::gui {
namespace {

// JCGM 100:2008, 7.2.6: uncertainty to at most two significant digits, the estimate rounded to the same place. The example
// there: 10.057 62 ohm with 27 milliohm is reported as 10.058 ohm.
TEST(WithUncertainty, RoundsTheValueToThePlaceOfTheUncertainty) {
  EXPECT_EQ(with_uncertainty(10.05762, 0.027), "10.058 ± 0.027");
  EXPECT_EQ(with_uncertainty(31.2468, 0.4116), "31.25 ± 0.41");
  EXPECT_EQ(with_uncertainty(412.7, 23.0), "413 ± 23");
}

TEST(WithUncertainty, CarriesWhenTheUncertaintyRoundsUp) {
  EXPECT_EQ(with_uncertainty(1.23456, 0.0996), "1.23 ± 0.10");
  EXPECT_EQ(with_uncertainty(5.0, 9.96), "5 ± 10");
}

TEST(WithUncertainty, NeverShowsAPlusMinusItDoesNotHave) {
  EXPECT_EQ(with_uncertainty(12.3456, 0.0), "12.35");
  EXPECT_EQ(with_uncertainty(12.3456, std::numeric_limits<double>::quiet_NaN()), "12.35");
}

TEST(Decimal, NeverWritesANegativeZero) {
  EXPECT_EQ(decimal(-0.001, 2), "0.00");
  EXPECT_EQ(decimal(-0.0, 0), "0");
  EXPECT_EQ(decimal(-0.006, 2), "-0.01");
}

TEST(Decimal, HoldsTheLargestDouble) { EXPECT_EQ(decimal(std::numeric_limits<double>::max(), 9).size(), 309U + 10U); }

TEST(Age, IsNeverUnderstated) {
  EXPECT_EQ(age(0.0121), "13 ms");
  EXPECT_EQ(age(0.99951), "1.0 s");
  EXPECT_EQ(age(3.21), "3.3 s");
  EXPECT_EQ(age(61.0), "2 min");
  EXPECT_EQ(age(3700.0), "2 h");
  EXPECT_EQ(age(std::numeric_limits<double>::infinity()), "never");
}

TEST(Grouped, SetsThinSpacesEveryThreeDigits) {
  EXPECT_EQ(grouped(999), "999");
  EXPECT_EQ(grouped(1234567), "1\u202f234\u202f567");
}

TEST(NumberStretches, NameThreeAndMoreByTheirEnds) {
  const auto of = [](std::vector<std::int64_t> numbers) { return number_stretches(numbers); };
  EXPECT_EQ(of({}), "");
  EXPECT_EQ(of({7}), "7");
  EXPECT_EQ(of({3, 4}), "3, 4");
  EXPECT_EQ(of({1, 2, 3, 8, 20, 21, 22, 23}), "1 to 3, 8, 20 to 23");
}

TEST(MetricWords, KnowsEveryMetricOfTheAnalysis) {
  for (const auto name : analysis::kMetricNames) {
    const MetricWords* words = metric_words(name);
    ASSERT_NE(words, nullptr) << name;
    EXPECT_FALSE(words->meaning.empty()) << name;
  }
}

}  // namespace
}  // namespace coldstroke::gui
