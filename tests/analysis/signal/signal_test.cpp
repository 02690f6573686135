// SPDX-License-Identifier: GPL-3.0-or-later
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include "analysis/signal/delay.hpp"
#include "analysis/signal/edge.hpp"
#include "analysis/signal/envelope.hpp"
#include "analysis/signal/integrate.hpp"
#include "analysis/signal/level.hpp"
#include "analysis/signal/saturation.hpp"

namespace coldstroke::analysis {
namespace {

std::vector<double> random_samples(std::size_t count, std::uint64_t seed) {
  std::mt19937_64 engine{seed};
  std::normal_distribution<double> normal;
  std::vector<double> out(count);
  for (double& x : out) x = normal(engine);
  return out;
}

TEST(Envelope, ColumnsStayPutWhileTheTraceScrolls) {
  const auto x = random_samples(1000, 1);
  const auto all = envelope(x, 5000, 16);
  const auto later = envelope(std::span{x}.subspan(37), 5037, 16);
  // Every column that is whole in both is the same in both.
  for (const EnvelopeColumn& column : later)
    EXPECT_TRUE(column.index * 16 < 5037 || std::find(all.begin(), all.end(), column) != all.end()) << column.index;
}

TEST(Envelope, KeepsEveryExtremeAndBreaksAtGaps) {
  auto x = random_samples(200, 2);
  for (std::size_t i = 64; i < 96; ++i) x[i] = NAN;
  x[100] = NAN;
  x[101] = 99.0;
  const auto got = envelope(x, 0, 32);
  ASSERT_EQ(got.size(), 6u);  // seven columns, of which one is a gap
  EXPECT_EQ(got[2].index, 3u);
  EXPECT_EQ(got[2].max, 99.0);
  EXPECT_TRUE(envelope({}, 3, 4).empty());
}

TEST(Decimate, HasItsProperties) {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    const auto x = random_samples(50 + 13 * seed, seed);
    const std::size_t bins = 1 + seed % 40;
    const auto got = decimate(x, bins);
    EXPECT_LE(got.size(), 2 * bins);
    double low = INFINITY, high = -INFINITY;
    for (std::size_t i = 0; i < got.size(); ++i) {
      EXPECT_TRUE(i == 0 || got[i - 1].index < got[i].index);
      EXPECT_EQ(got[i].value, x[got[i].index]);
      low = std::min(low, got[i].value);
      high = std::max(high, got[i].value);
    }
    EXPECT_EQ(low, *std::min_element(x.begin(), x.end()));
    EXPECT_EQ(high, *std::max_element(x.begin(), x.end()));
  }
  EXPECT_EQ(decimate(std::vector<double>{1, 2, 3}, 5).size(), 3u);
  EXPECT_TRUE(decimate(std::vector<double>{1, 2, 3}, 0).empty());
  EXPECT_TRUE(decimate(std::vector<double>{NAN, NAN}, 1).empty());
}

TEST(Integrate, IsExactForStraightPiecesAndAdds) {
  const std::array<Knot, 4> knots{Knot{0.0, 0.0}, Knot{1.0, 2.0}, Knot{1.5, 1.0}, Knot{4.0, -3.0}};
  const WindowIntegral got = integrate(knots);
  EXPECT_DOUBLE_EQ(got.first, 1.0 + 0.75 - 2.5);
  // Second integral: sum of h^2 (2 a + b) / 6 and the earlier first integral times h.
  EXPECT_NEAR(got.second, 2.0 / 6.0 + 1.0 * 0.5 + 0.25 * 5.0 / 6.0 + 1.75 * 2.5 + 6.25 * (2.0 - 3.0) / 6.0, 1.0e-12);
  EXPECT_EQ(integrate({}).first, 0.0);
  EXPECT_EQ(trapezoid({}, 1.0), 0.0);
  EXPECT_EQ(trapezoid(std::vector<double>{4.0}, 1.0), 0.0);
}

TEST(Integrate, TrapezoidConvergesWithSecondOrder) {
  const auto error = [](int n) {
    std::vector<double> y;
    for (int i = 0; i <= n; ++i) y.push_back(std::exp(static_cast<double>(i) / n));
    return trapezoid(y, 1.0 / n) - (std::exp(1.0) - 1.0);
  };
  EXPECT_NEAR(std::log2(error(50) / error(100)), 2.0, 0.01);
  const auto running = cumulative_trapezoid(std::vector<double>{1, 3, 5}, 2.0);
  EXPECT_EQ(running, (std::vector<double>{0.0, 4.0, 12.0}));
}

TEST(Edge, CrossingsLieBetweenTheirSamples) {
  const std::vector<double> x{0, 1, 3, 3, 1, 0};
  EXPECT_DOUBLE_EQ(*rising_crossing(x, 2.0), 1.5);
  EXPECT_DOUBLE_EQ(*last_falling_crossing(x, 2.0, 5), 3.5);
  EXPECT_FALSE(rising_crossing(x, 4.0));
  EXPECT_FALSE(last_falling_crossing({}, 1.0, 0));
  EXPECT_FALSE(back_extrapolated_start(std::vector<double>{0, 0, 0}, 1.0, 0.1, 0.5));
}

TEST(Saturation, SeesBothEndsAndNotTheirMixture) {
  EXPECT_EQ(saturated_runs(std::vector<double>{9, 10, 10, 10}, -10, 10, 0.5), (std::vector<IndexRun>{{1, 4}}));
  EXPECT_TRUE(saturated_runs(std::vector<double>{10, 10, -10, -10}, -10, 10, 0.5).empty());
  EXPECT_EQ(saturated_runs(std::vector<double>{10, 10, NAN, 10, 10, 10}, -10, 10, 0.5), (std::vector<IndexRun>{{3, 6}}));
}

TEST(Level, ShiftsWithItsSamples) {
  const auto x = random_samples(1000, 9);
  std::vector<double> shifted = x;
  for (double& v : shifted) v += 1.0e6;
  EXPECT_NEAR(level(shifted).standard_deviation, level(x).standard_deviation, 1.0e-9);
  EXPECT_EQ(level({}).count, 0u);
}

/// A stroke-like pulse of force on 10 kHz and of acceleration on 2 kHz, on clocks `shift` apart, with a landing later.
TEST(AlignOnPulse, FindsTheShiftOfTheFlightClock) {
  std::mt19937_64 engine{7};
  std::normal_distribution<double> normal;
  const auto shape = [](double t) { return t > 0.0 && t < 0.04 ? (1.0 - std::exp(-t / 0.002)) * (1.0 - 12.0 * t) : 0.0; };
  for (int trial = 0; trial < 20; ++trial) {
    const double shift = -3.0 + 0.37 * trial + 1.0e-4 * trial;
    std::vector<double> force, acceleration;
    for (int i = 0; i < 8000; ++i) force.push_back(900.0 * shape(i * 1.0e-4 - 0.3) + normal(engine));
    for (int i = 0; i < 3000; ++i) {
      const double t = i * 5.0e-4 - 0.2;  // on the bench clock
      acceleration.push_back(9.8 + 560.0 * shape(t - 0.3) + (t > 1.0 && t < 1.004 ? 900.0 : 0.0) + 0.8 * normal(engine));
    }
    const auto got = align_on_pulse({force, 0.0, 1.0e-4}, 0.298, 0.342, {acceleration, -0.2 - shift, 5.0e-4});
    ASSERT_TRUE(got) << got.error().what;
    EXPECT_NEAR(got->shift_seconds, shift, 4.0 * got->standard_uncertainty_seconds);
    EXPECT_NEAR(got->shift_seconds, shift, 0.15e-3);
    EXPECT_GT(got->likeness, 0.98);
  }
}

TEST(AlignOnPulse, ComplainsWhenThereIsNothingAlike) {
  const auto noise = random_samples(500, 5);
  std::vector<double> pulse(500, 0.0);
  for (std::size_t i = 200; i < 240; ++i) pulse[i] = static_cast<double>(i - 199);
  EXPECT_FALSE(align_on_pulse({pulse, 0.0, 1.0e-3}, 0.19, 0.25, {noise, 0.0, 1.0e-3}));
  EXPECT_FALSE(align_on_pulse({{}, 0.0, 1.0e-3}, 0.0, 0.1, {noise, 0.0, 1.0e-3}));
  EXPECT_FALSE(align_on_pulse({pulse, 0.0, 1.0e-3}, 0.25, 0.19, {noise, 0.0, 1.0e-3}));
}

}  // namespace
}  // namespace coldstroke::analysis
