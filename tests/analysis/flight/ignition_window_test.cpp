// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/flight/ignition_window.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <random>

namespace coldstroke::analysis {
namespace {

const IgnitionWindowSetup kChain{0.010, {0.250, 0.080}, {0.120, 0.030}, 2.0, 5.0, 0.99};
const VerticalPart kClimb{{1.5, 0.00265, 1.225}, 14.53};

TEST(Coast, GoesOverIntoTheVacuumWithoutLosingDigits) {
  const Coast thin{1.5, 1.0e-13, 1.225}, none{1.5, 0.0, 1.225};
  EXPECT_NEAR(apex_of(thin, 14.0).height_metres / apex_of(none, 14.0).height_metres, 1.0, 1.0e-11);
  EXPECT_NEAR(coast_at(thin, 14.0, 2.5).height_metres / coast_at(none, 14.0, 2.5).height_metres, 1.0, 1.0e-9);
  EXPECT_NEAR(*seconds_to_height(thin, 14.0, 5.0) / *seconds_to_height(none, 14.0, 5.0), 1.0, 1.0e-11);
}

TEST(Coast, InverseQuestionsComeBack) {
  const Coast c = kClimb.coast;
  for (const double t : {0.0, 0.2, 0.7, 1.3}) {
    const CoastPoint p = coast_at(c, 14.53, t);
    const auto by_speed = seconds_to_speed(c, 14.53, p.speed_mps), by_height = seconds_to_height(c, 14.53, p.height_metres);
    ASSERT_TRUE(by_speed && by_height) << "at " << t << " s";
    EXPECT_NEAR(*by_speed, t, 1.0e-10);
    EXPECT_NEAR(*by_height, t, 1.0e-8);
  }
  EXPECT_FALSE(seconds_to_height(c, 14.53, 11.0).has_value());
  EXPECT_FALSE(seconds_to_speed(c, 14.53, 15.0).has_value());
  EXPECT_NEAR(coast_at(c, 14.53, 1.47).speed_mps, 0.0, 0.01);
}

// The convolution against drawing both delays a million times.
TEST(ThrustOnset, ConvolutionAgreesWithDraws) {
  std::mt19937_64 random{3};
  const auto gamma = [](const Delay& d) {
    const double v = d.standard_deviation_seconds * d.standard_deviation_seconds;
    return std::gamma_distribution<double>{d.mean_seconds * d.mean_seconds / v, v / d.mean_seconds};
  };
  auto igniter = gamma(kChain.igniter), build_up = gamma(kChain.build_up);
  constexpr int kDraws = 1'000'000;
  const double at[] = {0.25, 0.35, 0.40, 0.55, 0.70};
  int count[5] = {};
  for (int i = 0; i < kDraws; ++i) {
    const double t = kChain.logic_seconds + igniter(random) + build_up(random);
    for (int k = 0; k < 5; ++k) count[k] += t <= at[k];
  }
  for (int k = 0; k < 5; ++k) {
    const double p = thrust_probability_by(kChain, at[k]), drawn = static_cast<double>(count[k]) / kDraws;
    EXPECT_NEAR(p, drawn, 4.5 * std::sqrt(p * (1.0 - p) / kDraws) + 1e-6) << at[k];
  }
}

TEST(ThrustOnset, QuantileIsTheInverse) {
  for (const double p : {0.001, 0.05, 0.5, 0.95, 0.999})
    EXPECT_NEAR(thrust_probability_by(kChain, thrust_seconds_at(kChain, p)), p, 2.0e-5);
  IgnitionWindowSetup fixed = kChain;
  fixed.igniter.standard_deviation_seconds = fixed.build_up.standard_deviation_seconds = 0.0;
  EXPECT_DOUBLE_EQ(thrust_seconds_at(fixed, 0.5), 0.380);
  EXPECT_EQ(thrust_probability_by(fixed, 0.379), 0.0);
  EXPECT_EQ(thrust_probability_by(fixed, 0.381), 1.0);
}

TEST(IgnitionWindow, OpensByHeightAndClosesBySpeed) {
  const auto w = ignition_window(kClimb, kChain);
  ASSERT_TRUE(w.has_value());
  EXPECT_NEAR(coast_at(kClimb.coast, kClimb.exit_speed_mps, w->opens_seconds).height_metres, 2.0, 1e-9);
  EXPECT_NEAR(coast_at(kClimb.coast, kClimb.exit_speed_mps, w->closes_seconds).speed_mps, 5.0, 1e-9);
  const VerticalPart weak{kClimb.coast, 6.0};
  EXPECT_FALSE(ignition_window(weak, kChain).has_value()) << "1.8 m up it is below 5 m/s: never both";
}

// After the latest safe decision exactly the wanted share is in time; a millisecond later less.
TEST(IgnitionWindow, LatestSafeDecisionIsTheEdge) {
  const auto w = ignition_window(kClimb, kChain);
  const double latest = latest_safe_decision_seconds(*w, kChain);
  EXPECT_NEAR(thrust_probability_by(kChain, w->closes_seconds - latest), 0.99, 2e-5);
  EXPECT_LT(probability_in_window(*w, kChain, latest + 0.001), 0.99);
  EXPECT_GT(probability_in_window(*w, kChain, latest - 0.05), 0.99);
  // Deciding very early, most thrust comes below the least height.
  EXPECT_LT(probability_in_window(*w, kChain, -0.6), 0.05);
}

}  // namespace
}  // namespace coldstroke::analysis
