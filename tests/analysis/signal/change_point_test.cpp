// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/change_point.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <random>
#include <vector>

namespace coldstroke::analysis {
namespace {

std::vector<double> sampled(std::size_t count, const std::function<double(double)>& f) {
  std::vector<double> out;
  for (std::size_t i = 0; i < count; ++i) out.push_back(f(static_cast<double>(i)));
  return out;
}

double after(double t, double start, const std::function<double(double)>& f) { return t > start ? f(t - start) : 0.0; }

TEST(SecondOrderAnswer, SettlesOnItsInputWithTheKnownOvershoot) {
  // Step overshoot exp(-pi z / sqrt(1 - z^2)): 0.8545 at z = 0.05.
  double top = 0.0;
  for (int i = 0; i < 1000; ++i) top = std::max(top, second_order_answer(0, 0.01 * i, 0.2, 0.05));
  EXPECT_NEAR(top, 1.0 + 0.854468, 1.0e-3);
  EXPECT_NEAR(second_order_answer(0, 500.0, 0.2, 0.05), 1.0, 1.0e-6);
  // A ramp is followed late by 2 z / w.
  EXPECT_NEAR(second_order_answer(1, 500.0, 0.2, 0.05), 500.0 - 0.1 / (2.0 * M_PI * 0.2), 1.0e-6);
}

TEST(SecondOrderAnswer, EachDegreeIsTheIntegralOfTheOneBefore) {
  constexpr double h = 1.0e-3;
  double ramp = 0.0, parabola = 0.0;
  for (int i = 0; i < 4000; ++i) {
    const double t = i * h;
    parabola += h * 2.0 * (ramp + 0.5 * h * second_order_answer(0, t + 0.5 * h, 0.2, 0.06));
    ramp += h * second_order_answer(0, t + 0.5 * h, 0.2, 0.06);
  }
  EXPECT_NEAR(second_order_answer(1, 4.0, 0.2, 0.06), ramp, 1.0e-4);
  EXPECT_NEAR(second_order_answer(2, 4.0, 0.2, 0.06), parabola, 1.0e-3);
}

TEST(ChangePoint, ACornerIsPlacedInItsGap) {
  // With a free step, any corner between samples 20 and 21 explains a ramp from 20.3 as well: the answer says so.
  const auto y = sampled(40, [](double t) { return after(t, 20.3, [](double s) { return 5.0 * s; }); });
  const auto got = find_change_point(y, 15.0, 24.0, {.change_degree = 1, .noise = 0.01});
  ASSERT_TRUE(got);
  EXPECT_NEAR(got->place, 20.5, 0.05);
  EXPECT_NEAR(got->standard_uncertainty, 1.0 / std::sqrt(12.0), 0.05);
}

TEST(ChangePoint, ABareStepIsPlacedInItsGapWithItsUncertainty) {
  const auto y = sampled(30, [](double t) { return t > 14.7 ? 1.0 : 0.0; });
  const auto got = find_change_point(y, 8.0, 20.0, {.change_degree = 0, .noise = 1.0e-3});
  ASSERT_TRUE(got);
  EXPECT_NEAR(got->place, 14.5, 0.02);
  EXPECT_NEAR(got->standard_uncertainty, 1.0 / std::sqrt(12.0), 0.02);
  EXPECT_NEAR(got->step_there, 1.0, 1.0e-6);
}

TEST(ChangePoint, SeesThroughARingingSensor) {
  // A cell of 0.19 cycles a sample, stated as 0.2; step of 8 and ramp of 8 a sample, noise 1: errors stay within the statement.
  std::mt19937_64 engine{42};
  std::normal_distribution<double> noise{0.0, 1.0};
  double squares = 0.0, stated = 0.0;
  constexpr int kTrials = 60;
  for (int trial = 0; trial < kTrials; ++trial) {
    const double true_place = 20.0 + trial / static_cast<double>(kTrials);
    const auto y = sampled(40, [&](double t) {
      return 8.0 * second_order_answer(0, t - true_place, 0.19, 0.05) + 8.0 * second_order_answer(1, t - true_place, 0.19, 0.05) +
             noise(engine);
    });
    const auto got = find_change_point(y, 14.0, 22.0, {.change_degree = 2, .natural_frequency = 0.2, .noise = 1.0});
    ASSERT_TRUE(got);
    squares += (got->place - true_place) * (got->place - true_place) / kTrials;
    stated += got->standard_uncertainty * got->standard_uncertainty / kTrials;
  }
  EXPECT_LT(std::sqrt(squares), 0.3);
  EXPECT_LT(std::sqrt(squares), 1.4 * std::sqrt(stated));
  EXPECT_GT(std::sqrt(squares), 0.4 * std::sqrt(stated));
}

TEST(ChangePoint, ShiftAndScaleChangeNothingElse) {
  const auto f = [](double t) { return after(t, 20.3, [](double s) { return 3.0 + 5.0 * s; }) + 0.1 * std::sin(7.0 * t); };
  const auto a = find_change_point(sampled(40, f), 15.0, 24.0, {.change_degree = 1, .natural_frequency = 0.2, .noise = 0.1});
  const auto b = find_change_point(sampled(40, [&](double t) { return 100.0 + 4.0 * f(t); }), 15.0, 24.0,
                                   {.change_degree = 1, .natural_frequency = 0.2, .noise = 0.4});
  ASSERT_TRUE(a && b);
  EXPECT_NEAR(a->place, b->place, 1.0e-6);
  EXPECT_NEAR(b->standard_uncertainty, a->standard_uncertainty, 1.0e-6);
}

TEST(ChangePoint, ComplainsOfTooFewSamplesAndEmptyRanges) {
  const std::vector<double> y(5, 1.0);
  EXPECT_FALSE(find_change_point(y, 1.0, 3.0, {.course_degree = 2, .change_degree = 2}));
  EXPECT_FALSE(find_change_point(std::vector<double>(40, 1.0), 9.0, 9.0, {}));
  EXPECT_FALSE(find_change_point(std::vector<double>(40, 1.0), 3.0, 90.0, {}));
  EXPECT_FALSE(find_change_point({}, 0.0, 1.0, {}));
}

}  // namespace
}  // namespace coldstroke::analysis
