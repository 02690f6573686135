// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/calibration/calibration.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "analysis/calibration/scaling.hpp"

namespace coldstroke::analysis {
namespace {

using testing::HasSubstr;

std::vector<CalibrationPoint> points_of(std::initializer_list<std::pair<double, double>> pairs) {
  std::vector<CalibrationPoint> out;
  for (const auto& [applied, reading] : pairs) out.push_back({applied, reading, 0.0, 1, false});
  return out;
}

TEST(Calibration, AnExactLineComesBack) {
  const auto curve =
      CalibrationCurve::fit(points_of({{0.0, 3.0}, {100.0, 5.0}, {250.0, 8.0}, {400.0, 11.0}}), CalibrationForm::line);
  ASSERT_TRUE(curve) << curve.error().what;
  EXPECT_NEAR(curve->coefficients()[0], 3.0, 1.0e-12);
  EXPECT_NEAR(curve->coefficients()[1], 0.02, 1.0e-14);
  EXPECT_NEAR(curve->residual_standard_deviation(), 0.0, 1.0e-12);
  const auto back = curve->applied_for(7.0);
  ASSERT_TRUE(back);
  EXPECT_NEAR(back->value, 200.0, 1.0e-9);
  EXPECT_FALSE(back->beyond_points);
  EXPECT_TRUE(curve->applied_for(11.5)->beyond_points);
  EXPECT_TRUE(curve->applied_for(2.0)->beyond_points);
}

TEST(Calibration, AQuadraticIsUndoneOnItsOwnBranch) {
  for (const double sign : {1.0, -1.0}) {
    std::vector<CalibrationPoint> points;
    const auto reading = [&](double x) { return sign * (0.5 + 2.0e-3 * x - 1.0e-7 * x * x); };
    for (double x = 0.0; x <= 2000.0; x += 250.0) points.push_back({x, reading(x), 0.0, 1, false});
    const auto curve = CalibrationCurve::fit(points, CalibrationForm::quadratic);
    ASSERT_TRUE(curve) << curve.error().what;
    for (double x = 0.0; x <= 2000.0; x += 37.0) EXPECT_NEAR(curve->applied_for(reading(x))->value, x, 1.0e-7 * 2000.0);
    EXPECT_FALSE(curve->applied_for(sign * 1000.0)) << "the parabola never gets there";
  }
}

TEST(Calibration, LowerLimitFactorIsItsDefinition) {
  const auto curve = CalibrationCurve::fit(points_of({{0.0, 0.01}, {10.0, 0.99}, {20.0, 2.01}, {30.0, 2.99}, {40.0, 4.01}}),
                                           CalibrationForm::line);
  ASSERT_TRUE(curve);
  double squares = 0.0;
  for (const double r : curve->residuals()) squares += r * r;
  const double slope = curve->coefficients()[1];
  EXPECT_NEAR(curve->lower_limit_factor(), 2.4 * std::sqrt(squares / 3.0) / slope, 1.0e-12);
}

TEST(Calibration, LoadingAndUnloadingAreCompared) {
  std::vector<CalibrationPoint> points = points_of({{0.0, 0.0}, {50.0, 1.0}, {100.0, 2.0}});
  points.push_back({50.0, 1.03, 0.0, 1, true});
  points.push_back({0.0, 0.01, 0.0, 1, true});
  const auto curve = CalibrationCurve::fit(points, CalibrationForm::line);
  ASSERT_TRUE(curve);
  const LoadingCheck check = compare_loading(points, *curve);
  const double slope = curve->coefficients()[1];
  ASSERT_TRUE(check.hysteresis);
  EXPECT_NEAR(*check.hysteresis, 0.03 / slope, 1.0e-9);
  ASSERT_TRUE(check.zero_return);
  EXPECT_NEAR(*check.zero_return, 0.01 / slope, 1.0e-9);
  EXPECT_FALSE(compare_loading(points_of({{0.0, 0.0}, {50.0, 1.0}, {100.0, 2.0}}), *curve).hysteresis);
}

TEST(Calibration, BadPointsAreRefusedWithTheReason) {
  const auto why = [](const std::vector<CalibrationPoint>& points, CalibrationForm form) {
    const auto curve = CalibrationCurve::fit(points, form);
    return curve ? std::string{} : curve.error().what + "|" + curve.error().remedy;
  };
  EXPECT_THAT(why({}, CalibrationForm::line), HasSubstr("too few"));
  EXPECT_THAT(why(points_of({{0.0, 0.0}, {1.0, 1.0}}), CalibrationForm::line), HasSubstr("too few"));
  EXPECT_THAT(why(points_of({{0.0, 0.0}, {1.0, 1.0}, {2.0, 2.0}}), CalibrationForm::quadratic), HasSubstr("too few"));
  EXPECT_THAT(why(points_of({{5.0, 0.0}, {5.0, 1.0}, {5.0, 2.0}}), CalibrationForm::line), HasSubstr("different loads"));
  EXPECT_THAT(why(points_of({{0.0, 0.0}, {5.0, 1.0}, {5.0, 1.1}, {0.0, 0.1}}), CalibrationForm::quadratic),
              HasSubstr("different loads"));
  EXPECT_THAT(why(points_of({{0.0, 0.0}, {1.0, NAN}, {2.0, 2.0}}), CalibrationForm::line), HasSubstr("not a number"));
  EXPECT_THAT(why(points_of({{0.0, 1.0}, {1.0, 1.0}, {2.0, 1.0}}), CalibrationForm::line), HasSubstr("rise or fall"));
  EXPECT_THAT(why(points_of({{0.0, 0.0}, {1.0, 1.0}, {2.0, 0.9}, {3.0, 0.0}}), CalibrationForm::quadratic),
              HasSubstr("rise or fall"));
}

TEST(Calibration, ShuntStepIsTheBridgesOwnDivider) {
  for (const double arm : {120.0, 350.0, 1000.0})
    for (const double shunt : {10.0e3, 59.0e3, 174.8e3}) {
      const double with = arm * shunt / (arm + shunt);
      EXPECT_NEAR(shunt_step_per_volt(arm, shunt), 0.5 - with / (with + arm), 1.0e-15);
    }
  EXPECT_TRUE(check_shunt(100.0, 1099.0, 1000.0, 0.002).within);
  EXPECT_FALSE(check_shunt(100.0, 1090.0, 1000.0, 0.002).within);
  EXPECT_FALSE(check_shunt(100.0, 100.0, 0.0, 0.002).within) << "nothing was expected, so nothing is shown";
  EXPECT_NEAR(check_shunt(100.0, 1090.0, 1000.0, 0.002).relative_error, -0.01, 1.0e-12);
}

TEST(Calibration, TareTakesTheZeroErrorOut) {
  const auto curve =
      CalibrationCurve::fit(points_of({{0.0, 5.0}, {100.0, 205.0}, {200.0, 405.0}}), CalibrationForm::line, {1.0e-3, 0.01});
  ASSERT_TRUE(curve);
  const std::vector<double> at_rest{17.0, 19.0, 18.0, 18.0};
  const auto tare = tare_of(at_rest);
  ASSERT_TRUE(tare);
  EXPECT_NEAR(tare->reading, 18.0, 1.0e-12);
  const auto value = tared(*curve, 118.0, 0.0, *tare);
  ASSERT_TRUE(value);
  EXPECT_NEAR(value->value, 50.0, 1.0e-9);
  EXPECT_NEAR(value->from_this_reading, tare->standard_uncertainty / 2.0, 1.0e-9);
  EXPECT_NEAR(value->from_reference, 0.5, 1.0e-9) << "the reference's share is of the difference";
  EXPECT_FALSE(tare_of(std::vector<double>{1.0}));
  EXPECT_FALSE(tare_of(std::vector<double>{1.0, NAN}));
}

TEST(Scaling, RatiometricFollowsItsSupplyAndSaysWhenTheWireIsGone) {
  const TransducerSpan span{0.0, 16.0e5};
  EXPECT_NEAR(scale_ratiometric(2.5, 5.0, span).value, 8.0e5, 1.0e-6);
  EXPECT_NEAR(scale_ratiometric(2.4, 4.8, span).value, 8.0e5, 1.0e-6) << "the supply's drift divides out";
  EXPECT_EQ(scale_ratiometric(0.5, 5.0, span).wire, WireState::good);
  EXPECT_EQ(scale_ratiometric(4.5, 5.0, span).wire, WireState::good);
  EXPECT_EQ(scale_ratiometric(0.0, 5.0, span).wire, WireState::broken);
  EXPECT_EQ(scale_ratiometric(0.4, 5.0, span).wire, WireState::below_range);
  EXPECT_EQ(scale_ratiometric(4.6, 5.0, span).wire, WireState::above_range);
  EXPECT_EQ(scale_ratiometric(4.9, 5.0, span).wire, WireState::shorted);
  EXPECT_EQ(scale_ratiometric(2.5, 0.0, span).wire, WireState::broken);
  EXPECT_EQ(scale_ratiometric(NAN, 5.0, span).wire, WireState::broken);
}

TEST(Scaling, CurrentLoopSaysWhenTheWireIsBroken) {
  const TransducerSpan span{-1.0e5, 15.0e5};
  EXPECT_NEAR(scale_current_loop(4.0e-3, span).value, -1.0e5, 1.0e-6);
  EXPECT_NEAR(scale_current_loop(20.0e-3, span).value, 15.0e5, 1.0e-6);
  EXPECT_NEAR(scale_current_loop(12.0e-3, span).value, 7.0e5, 1.0e-6);
  EXPECT_EQ(scale_current_loop(3.6e-3, span).wire, WireState::broken);
  EXPECT_EQ(scale_current_loop(0.0, span).wire, WireState::broken);
  EXPECT_EQ(scale_current_loop(3.7e-3, span).wire, WireState::below_range);
  EXPECT_EQ(scale_current_loop(3.9e-3, span).wire, WireState::good);
  EXPECT_EQ(scale_current_loop(20.6e-3, span).wire, WireState::above_range);
  EXPECT_EQ(scale_current_loop(21.0e-3, span).wire, WireState::shorted);
}

}  // namespace
}  // namespace coldstroke::analysis
