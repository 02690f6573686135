// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/clock_exchange.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace coldstroke::analysis {
namespace {

/// Exchanges every 0.25 s for `seconds`; the far clock is `offset` ahead and `drift` fast; ways out and back random.
std::vector<ClockExchange> session(double seconds, double offset, double drift, double late_share, std::uint64_t seed) {
  std::mt19937_64 engine{seed};
  std::uniform_real_distribution<double> way{0.2e-3, 0.6e-3}, chance{0.0, 1.0};
  std::vector<ClockExchange> out;
  for (double t = 100.0; t < 100.0 + seconds; t += 0.25) {
    const auto far = [&](double near) { return near + offset + drift * near; };
    const double there = way(engine) + (chance(engine) < late_share ? 8.0e-3 : 0.0), back = way(engine);
    out.push_back({t, far(t + there), far(t + there + 50.0e-6), t + there + 50.0e-6 + back});
  }
  return out;
}

TEST(ClockFit, FollowsOffsetAndDriftWithinItsStatement) {
  int held = 0;
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    const auto fit = fit_clock(session(30.0, 12.5, 40.0e-6, 0.2, seed));
    ASSERT_TRUE(fit);
    EXPECT_TRUE(fit->drift_fitted());
    EXPECT_NEAR(fit->drift(), 40.0e-6, 15.0e-6);
    const double at = 115.0, error = fit->offset_at(at) - (12.5 + 40.0e-6 * at);
    if (std::abs(error) <= 1.96 * fit->standard_uncertainty_at(at)) ++held;
    EXPECT_LT(std::abs(error), fit->distance_at(at) + 1.0e-4);
    EXPECT_NEAR(fit->to_near(fit->to_far(at)), at, 1.0e-9);
  }
  EXPECT_GE(held, 46);
}

TEST(ClockFit, UncertaintyGrowsAwayFromTheExchanges) {
  const auto fit = fit_clock(session(30.0, 1.0, 10.0e-6, 0.0, 3));
  ASSERT_TRUE(fit);
  EXPECT_GT(fit->standard_uncertainty_at(400.0), 2.0 * fit->standard_uncertainty_at(115.0));
}

TEST(ClockFit, OneExchangeGivesAnOffsetAndNoDrift) {
  const auto fit = fit_clock(std::vector<ClockExchange>{{10.0, 15.0005, 15.0006, 10.0011}});
  ASSERT_TRUE(fit);
  EXPECT_FALSE(fit->drift_fitted());
  EXPECT_NEAR(fit->offset_at(10.0), 5.0, 1.0e-9);
  // Half the delay of 1 ms, and 100 ppm for every second since.
  EXPECT_NEAR(fit->distance_at(10.0005), 0.5e-3, 5.0e-6);
  EXPECT_NEAR(fit->distance_at(20.0005), 1.5e-3, 5.0e-6);
}

TEST(ReadClock, WhatTheWaysSurelyTakeHidesNothing) {
  // Out 0.5 ms of which 0.4 are bytes, back 0.2 ms of which 0.1 are; the far clock is 5 s ahead.
  const ClockExchange e{10.0, 15.0005, 15.0006, 10.0008};
  const ClockReading plain = read_clock(e);
  EXPECT_NEAR(plain.offset_seconds, 5.00015, 1.0e-9);
  EXPECT_NEAR(plain.distance_seconds, 0.35e-3, 5.0e-6);
  const ClockReading known = read_clock(e, {.least_way_out_seconds = 0.4e-3, .least_way_back_seconds = 0.1e-3});
  EXPECT_NEAR(known.offset_seconds, 5.0, 1.0e-9);
  EXPECT_NEAR(known.distance_seconds, 0.1e-3, 5.0e-6);
  // Ways longer than the whole delay leave the clocks' own steps.
  EXPECT_GT(read_clock(e, {.least_way_out_seconds = 1.0, .least_way_back_seconds = 1.0}).distance_seconds, 0.0);
}

TEST(ClockFit, ComplainsOfNoneAndOfNonsense) {
  EXPECT_FALSE(fit_clock({}));
  EXPECT_FALSE(fit_clock(std::vector<ClockExchange>{{10.0, 15.0, 15.0, 9.0}}));
  EXPECT_FALSE(fit_clock(std::vector<ClockExchange>{{10.0, NAN, 15.0, 11.0}}));
}

TEST(LineFit, ComplainsOfWhatHasNoLine) {
  EXPECT_FALSE(fit_line(std::vector<double>{1, 2}, std::vector<double>{1, 2}));
  EXPECT_FALSE(fit_line(std::vector<double>{1, 1, 1}, std::vector<double>{1, 2, 3}));
  EXPECT_FALSE(fit_line(std::vector<double>{1, 2, 3}, std::vector<double>{1, 2}));
}

}  // namespace
}  // namespace coldstroke::analysis
