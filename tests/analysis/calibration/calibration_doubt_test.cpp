// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the uncertainty of a calibration stands on. Points on a straight line used to have none at all, and few points too little.
#include "analysis/calibration/calibration_doubt.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <random>
#include <vector>

#include "analysis/calibration/calibration.hpp"

namespace coldstroke::analysis {
namespace {

std::vector<CalibrationPoint> exact(double deviation = 0.0, int samples = 1) {
  std::vector<CalibrationPoint> out;
  for (const double load : {0.0, 100.0, 200.0}) out.push_back({load, 10.0 + 0.1 * load, deviation, samples, false});
  return out;
}

CalibrationCurve line(const std::vector<CalibrationPoint>& points, const CalibrationKnowledge& knowledge = {}) {
  return CalibrationCurve::fit(points, CalibrationForm::line, knowledge).value();
}

TEST(CalibrationDoubt, PointsOnTheLineOfWhichNothingIsKnownBoundNothing) {
  for (const CalibrationKnowledge& knowledge : {CalibrationKnowledge{}, CalibrationKnowledge{0.0, 0.01}}) {
    const CalibrationCurve curve = line(exact(), knowledge);
    EXPECT_EQ(curve.doubt().source, DoubtSource::unknown);
    const auto back = curve.applied_for(20.0);
    ASSERT_TRUE(back);
    EXPECT_FALSE(back->standard_uncertainty()) << "not zero";
    EXPECT_FALSE(back->half_width_95());
    EXPECT_EQ(back->largest(), DoubtSource::unknown);
  }
  std::vector<CalibrationPoint> bent;
  for (double x = 0.0; x <= 2000.0; x += 250.0) bent.push_back({x, 0.5 + 2.0e-3 * x - 1.0e-7 * x * x, 0.0, 1, false});
  EXPECT_EQ(CalibrationCurve::fit(bent, CalibrationForm::quadratic)->doubt().source, DoubtSource::unknown);
}

TEST(CalibrationDoubt, TheResolutionIsAFloorWorkedByHand) {
  const auto back = line(exact(), {1.0, 0.0}).applied_for(20.0);
  ASSERT_TRUE(back);
  // Step 1: variance 1/12 of a reading, a third of it for the line at its middle; slope 0.1.
  EXPECT_NEAR(back->standard_uncertainty().value_or(0.0), std::sqrt(4.0 / 3.0 / 12.0) / 0.1, 1.0e-9);
  EXPECT_NEAR(back->half_width_95().value_or(0.0), 1.959964 * std::sqrt(4.0 / 3.0 / 12.0) / 0.1, 1.0e-5);
  EXPECT_EQ(back->largest(), DoubtSource::readings);
}

TEST(CalibrationDoubt, TheLowerLimitFactorIsNoFinerThanTheResolution) {
  EXPECT_NEAR(line(exact(), {0.5, 0.0}).lower_limit_factor(), 5.0, 1.0e-9);
  std::vector<CalibrationPoint> off = exact();
  off[1].reading += 3.0;
  EXPECT_EQ(line(off, {0.5, 0.0}).lower_limit_factor(), line(off).scatter_limit());
}

TEST(CalibrationDoubt, NoiseCountsAsThatOfTheMeanWithItsOwnDegreesOfFreedom) {
  const CalibrationCurve curve = line(exact(6.0, 9));
  EXPECT_EQ(curve.doubt().source, DoubtSource::readings);
  EXPECT_NEAR(curve.doubt().standard_deviation, 2.0, 1.0e-12);
  EXPECT_NEAR(curve.doubt().degrees_of_freedom, 3.0 * 8.0, 1.0e-9);
  EXPECT_EQ(line(exact(6.0, 1)).doubt().degrees_of_freedom, kExactlyKnown) << "a deviation stated, not counted";
}

TEST(CalibrationDoubt, TheReferenceIsAShareOfTheLoad) {
  const auto back = line(exact(), {1.0e-3, 0.02}).applied_for(25.0);
  ASSERT_TRUE(back);
  EXPECT_NEAR(back->from_reference, 3.0, 1.0e-9);
  EXPECT_EQ(back->largest(), DoubtSource::reference);
  EXPECT_NEAR(back->standard_uncertainty().value_or(0.0), 3.0, 1.0e-4);
}

TEST(CalibrationDoubt, PointsOfDifferentNoiseGoThroughTheFitAsTheyAre) {
  // Slope of 4000 lines through points that scatter as they state.
  const std::vector<CalibrationPoint> stated{
      {0.0, 10.0, 0.5, 1, false}, {100.0, 20.0, 0.01, 1, false}, {200.0, 30.0, 0.01, 1, false}, {300.0, 40.0, 0.1, 1, false}};
  const double claimed = line(stated).mean_slope_relative_uncertainty() * 0.1;
  std::mt19937_64 random{4};
  std::normal_distribution<double> unit;
  double squares = 0.0;
  constexpr int kRuns = 4000;
  for (int run = 0; run < kRuns; ++run) {
    std::vector<CalibrationPoint> drawn = stated;
    for (CalibrationPoint& p : drawn) p.reading += p.reading_standard_deviation * unit(random);
    squares += std::pow(line(drawn).mean_slope() - 0.1, 2);
  }
  EXPECT_NEAR(claimed / std::sqrt(squares / kRuns), 1.0, 0.05);
}

/// Share of `runs` calibrations of `count` points whose interval holds a load that was not among them. `stated`: noise of the
/// readings that the points tell of, where `scatter` is what they have.
struct Held {
  double student = 0.0, normal = 0.0;
};
Held held(int count, double scatter, double stated, int runs) {
  std::mt19937_64 random{20261125};
  std::normal_distribution<double> unit;
  Held out;
  for (int run = 0; run < runs; ++run) {
    std::vector<CalibrationPoint> points;
    for (int k = 0; k < count; ++k) {
      const double load = 1000.0 * k / (count - 1);
      points.push_back({load, 0.1 + 2.0e-3 * load + scatter * unit(random), 10.0 * stated, 100, false});
    }
    const CalibrationCurve curve = line(points);
    const double truth = 20.0 + 960.0 * run / runs;
    const auto back = curve.applied_for(0.1 + 2.0e-3 * truth + scatter * unit(random));
    const double off = std::abs(back->value - truth);
    out.student += off <= back->half_width_95().value_or(0.0) ? 1.0 / runs : 0.0;
    out.normal += off <= 1.96 * back->standard_uncertainty().value_or(0.0) ? 1.0 / runs : 0.0;
  }
  return out;
}

TEST(CalibrationDoubt, IntervalsHoldTheTruthWithFewPointsAndWithMany) {
  constexpr int kRuns = 4000;
  for (const int count : {3, 4, 6, 12, 33}) {
    const Held h = held(count, 0.004, 0.0, kRuns);
    std::printf("%d points: Student %.3f, normal factor %.3f\n", count, h.student, h.normal);
    EXPECT_NEAR(h.student, 0.95, 0.012) << count << " points";
    if (count <= 4) {
      EXPECT_LT(h.normal, 0.90) << "else this would not tell them apart";
    }
  }
}

TEST(CalibrationDoubt, KnownNoiseKeepsAScatterThatIsSmallByChanceFromCounting) {
  for (const int count : {3, 4, 6, 12}) {
    const Held h = held(count, 0.004, 0.004, 4000);
    std::printf("%d points of known noise: %.3f\n", count, h.student);
    EXPECT_GE(h.student, 0.945) << count << " points";
  }
}

TEST(CalibrationDoubt, FreedomFollowsWelchAndSatterthwaite) {
  EXPECT_NEAR(factor_95(1.0), 12.7062, 1.0e-4);  // JCGM 100:2008, table G.2 rounds these to 12.71, 2.78 and 1.96
  EXPECT_NEAR(factor_95(4.0), 2.7764, 1.0e-4);
  EXPECT_NEAR(factor_95(kExactlyKnown), 1.959964, 1.0e-6);
  EXPECT_NEAR(combined_freedom(1.0, 3.0, std::sqrt(2.0)), 12.0, 1.0e-9);
  EXPECT_EQ(combined_freedom(0.0, 3.0, 1.0), kExactlyKnown);
}

}  // namespace
}  // namespace coldstroke::analysis
