// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/free_fall.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/trial/speed_agreement.hpp"

namespace coldstroke::analysis {
namespace {

/// The same flight stepped by fourth-order Runge-Kutta: nothing of the closed form in it.
double stepped_seconds(const FreeFall& f, double v) {
  const double k = 0.5 * f.air_density_kg_per_m3 * f.drag_area_m2 / f.mass_kg, h = 1.0e-4;
  const auto rate = [&](double speed) { return -kStandardGravity - k * speed * std::abs(speed); };
  double height = 0.0, t = 0.0;
  for (;;) {
    const double v2 = v + 0.5 * h * rate(v), v3 = v + 0.5 * h * rate(v2), v4 = v + h * rate(v3);
    const double next_v = v + h / 6.0 * (rate(v) + 2.0 * rate(v2) + 2.0 * rate(v3) + rate(v4));
    const double next_height = height + h / 6.0 * (v + 2.0 * v2 + 2.0 * v3 + v4);
    if (next_v < 0.0 && next_height <= f.landing_height_metres)
      return t + h * (height - f.landing_height_metres) / (height - next_height);
    height = next_height;
    v = next_v;
    t += h;
  }
}

TEST(FreeFall, ClosedFormAgreesWithAnIntegration) {
  for (const double area : {0.0, 0.00265, 0.02})
    for (const double height : {-3.0, 0.0, 2.0})
      for (const double speed : {8.0, 14.5, 25.0}) {
        const FreeFall fall{1.5, area, 1.2, height};
        const auto seconds = flight_seconds(fall, speed);
        ASSERT_TRUE(seconds);
        EXPECT_NEAR(*seconds, stepped_seconds(fall, speed), 1.0e-5) << area << ' ' << height << ' ' << speed;
        const auto back = speed_of_flight(fall, *seconds);
        ASSERT_TRUE(back);
        EXPECT_NEAR(*back, speed, 1.0e-6 * speed);
      }
}

TEST(FreeFall, WithoutDragItIsTheParabola) {
  EXPECT_NEAR(*flight_seconds({1.0, 0.0, 1.2, 0.0}, 9.80665), 2.0, 1.0e-12);
  EXPECT_NEAR(*speed_of_flight({1.0, 0.0, 1.2, 0.0}, 2.0), 9.80665, 1.0e-9);
}

TEST(FreeFall, WhatCannotBeIsNothing) {
  EXPECT_FALSE(flight_seconds({1.5, 0.0, 1.2, 10.0}, 5.0)) << "never gets that high";
  EXPECT_FALSE(flight_seconds({1.5, 0.003, 1.2, 10.0}, 5.0));
  EXPECT_FALSE(flight_seconds({1.5, 0.003, 1.2, 0.0}, -1.0));
  EXPECT_FALSE(speed_of_flight({1.5, 0.003, 1.2, 0.0}, -0.1));
  EXPECT_FALSE(speed_of_flight({1.5, 0.003, 1.2, -1.0}, 0.3)) << "shorter than falling off the edge";
  EXPECT_FALSE(speed_of_flight({0.0, 0.003, 1.2, 0.0}, 1.0));
  EXPECT_FALSE(speed_of_flight({1.5, 0.003, 1.2, 0.0}, NAN));
}

SpeedWitness witness(const char* from, double speed, double u) {
  SpeedWitness out{from, std::string{"the "} + from + "'s culprit", speed, {}};
  out.budget.add(std::string{from} + " alone", u, "m/s", 1.0);
  return out;
}

TEST(SpeedAgreement, NamesTheOneThatStandsApart) {
  const auto a = witness("force", 14.5, 0.05), b = witness("acceleration", 14.45, 0.08), c = witness("stroke", 14.48, 0.02);
  EXPECT_TRUE(compare_speeds({a, b, c}).empty());
  const auto off = compare_speeds({witness("force", 15.5, 0.05), b, c});
  ASSERT_EQ(off.size(), 1U);
  EXPECT_EQ(off.front().kind, "exit_speeds_disagree");
  EXPECT_NE(off.front().message.find("from force stands apart: look at the force's culprit"), std::string::npos);
  const auto stroke_off = compare_speeds({a, b, witness("stroke", 13.5, 0.02), witness("free fall", 14.5, 0.03)});
  ASSERT_EQ(stroke_off.size(), 1U);
  EXPECT_NE(stroke_off.front().message.find("look at the stroke's culprit"), std::string::npos);
}

TEST(SpeedAgreement, NamesNobodyWhereItCannotBeTold) {
  const auto two = compare_speeds({witness("force", 14.5, 0.05), witness("stroke", 15.5, 0.02)});
  ASSERT_EQ(two.size(), 1U);
  EXPECT_NE(two.front().message.find("None stands alone"), std::string::npos);
  const auto all =
      compare_speeds({witness("force", 12.0, 0.05), witness("acceleration", 14.0, 0.05), witness("stroke", 16.0, 0.05)});
  ASSERT_EQ(all.size(), 1U);
  EXPECT_NE(all.front().message.find("None stands alone"), std::string::npos);
  EXPECT_TRUE(compare_speeds({}).empty());
  EXPECT_TRUE(compare_speeds({witness("force", 12.0, 0.05)}).empty());
}

}  // namespace
}  // namespace coldstroke::analysis
