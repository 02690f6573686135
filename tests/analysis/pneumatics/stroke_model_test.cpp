// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/pneumatics/stroke_model.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace coldstroke::analysis {
namespace {

StrokeParameters baseline() {
  StrokeParameters q;
  q.valves.assign(2, Valve{8.0e-8, 0.3, 0.006, 0.010});
  return q;
}

StrokeState charged(double gauge) {
  StrokeState s;
  s.reservoir_pascals = 101325.0 + gauge;
  return s;
}

const std::vector<double> kShut{0.0, 0.0}, kOpen{1.0, 1.0};

TEST(IsoFlow, IsSignedAndContinuousThroughEqualPressure) {
  EXPECT_EQ(iso6358_mass_flow(8e-8, 0.3, 5e5, 293.15, 5e5, 293.15), 0.0);
  EXPECT_DOUBLE_EQ(iso6358_mass_flow(8e-8, 0.3, 5e5, 280.0, 6e5, 300.0), -iso6358_mass_flow(8e-8, 0.3, 6e5, 300.0, 5e5, 280.0));
  const double below = iso6358_mass_flow(8e-8, 0.3, 5e5, 293.15, 0.99899999 * 5e5, 293.15);
  const double above = iso6358_mass_flow(8e-8, 0.3, 5e5, 293.15, 0.99900001 * 5e5, 293.15);
  EXPECT_NEAR(below / above, 1.0, 1e-4);
}

TEST(Opening, HasDeadTimeThenRamp) {
  const Valve v{1.0, 0.3, 0.006, 0.010};
  EXPECT_EQ(opening(v, -1.0), 0.0);
  EXPECT_EQ(opening(v, 0.006), 0.0);
  EXPECT_DOUBLE_EQ(opening(v, 0.011), 0.5);
  EXPECT_EQ(opening(v, 1.0), 1.0);
}

TEST(Advance, KeepsARestingRigAtRestInLongSteps) {
  const StrokeState s = advance(baseline(), charged(8e5), kShut, kShut, kShut, 1.0);
  EXPECT_FALSE(s.moving);
  EXPECT_DOUBLE_EQ(s.reservoir_pascals, 901325.0);
  EXPECT_DOUBLE_EQ(s.chamber_pascals, 101325.0);
}

TEST(Advance, RegulatorFillsToItsSetPointAndHeatsTheGas) {
  StrokeParameters q = baseline();
  q.regulator_flow_kg_per_s = 0.005 * kIsoReferenceDensity;
  q.regulator_set_pascals = 901325.0;
  q.regulator_band_pascals = 1.0e4;
  StrokeState s = charged(0.0);
  for (int k = 0; k < 1000; ++k) s = advance(q, s, kShut, kShut, kShut, 0.01);
  EXPECT_NEAR(s.reservoir_pascals, 901325.0, 10.0);
  // Closed form for the adiabatic filling of a rigid vessel from a line at 293.15 K: 392.749 K at 8 bar gauge.
  EXPECT_NEAR(s.reservoir_kelvin, 392.749, 0.05);
}

TEST(Advance, WallsCoolAFastFilling) {
  StrokeParameters q = baseline();
  q.reservoir_wall_watts_per_kelvin = 2.0;
  StrokeState s = charged(8e5);
  s.reservoir_kelvin = 392.749;
  for (int k = 0; k < 1000; ++k) s = advance(q, s, kShut, kShut, kShut, 0.1);
  EXPECT_NEAR(s.reservoir_kelvin, 293.15, 1e-6);
  EXPECT_NEAR((s.reservoir_pascals - 101325.0) / 1e5, 5.71428571, 1e-4);  // what is left once cooled, same closed form
}

TEST(Advance, VentsToAmbientAndStaysThere) {
  StrokeParameters q = baseline();
  q.reservoir_vent_conductance = 1.0e-8;
  StrokeState s = charged(8e5);
  for (int k = 0; k < 400; ++k) s = advance(q, s, kShut, kShut, kShut, 0.01);
  EXPECT_NEAR(s.reservoir_pascals, 101325.0, 1.0);
}

TEST(Advance, GasFlowsBackFromChamberToReservoir) {
  StrokeParameters q = baseline();
  q.breakaway_newtons = 1.0e6;
  StrokeState s = charged(0.0);
  s.chamber_pascals = 5.0e5;
  const StrokeState after = advance(q, s, kOpen, kOpen, kOpen, 1.0e-3);
  EXPECT_LT(after.chamber_pascals, s.chamber_pascals);
  EXPECT_GT(after.reservoir_pascals, s.reservoir_pascals);
  const StrokeState settled = advance(q, s, kOpen, kOpen, kOpen, 1.0);
  EXPECT_NEAR(settled.chamber_pascals, settled.reservoir_pascals, 1.0);
  EXPECT_NEAR(settled.reservoir_pascals * q.reservoir_volume_m3 + settled.chamber_pascals * q.dead_volume_m3,
              s.reservoir_pascals * q.reservoir_volume_m3 + s.chamber_pascals * q.dead_volume_m3, 1e-6);
}

TEST(Advance, OneLongStepLocatesMotionAndExitLikeManyShort) {
  // Whole stroke in one call of 60 ms with open valves: the inside is split only as stability needs, the events are located.
  StrokeParameters q = baseline();
  StrokeEvents coarse;
  const StrokeState end = advance(q, charged(8e5), kOpen, kOpen, kOpen, 0.06, &coarse);
  ASSERT_TRUE(coarse.first_motion_seconds && coarse.exit_seconds);
  StrokeState s = charged(8e5);
  double motion = -1.0, exit = -1.0, speed = 0.0;
  for (int k = 0; k < 60000 && exit < 0.0; ++k) {
    StrokeEvents events;
    s = advance(q, s, kOpen, kOpen, kOpen, 1.0e-6, &events);
    if (events.first_motion_seconds) motion = k * 1.0e-6 + *events.first_motion_seconds;
    if (events.exit_seconds) exit = k * 1.0e-6 + *events.exit_seconds, speed = events.at_exit.speed_mps;
  }
  EXPECT_NEAR(*coarse.first_motion_seconds, motion, 2.0e-6);
  EXPECT_NEAR(*coarse.exit_seconds, exit, 2.0e-6);
  EXPECT_NEAR(coarse.at_exit.speed_mps, speed, 2.0e-3 * speed);
  EXPECT_EQ(end.travel_metres, q.stroke_metres);
  EXPECT_EQ(end.speed_mps, 0.0);
  EXPECT_FALSE(end.moving);
}

TEST(Advance, ConvergesWithFourthOrder) {
  StrokeParameters q = baseline();
  q.breakaway_newtons = q.running_friction_newtons = 0.0;
  q.seal_friction_fraction = 0.0;
  StrokeState start = charged(8e5);
  start.chamber_pascals = 4.0e5;  // already moving, ratio 0.44 and rising: no corner of the characteristic, no event
  start.moving = true;
  start.speed_mps = 2.0;
  const auto travel = [&](int steps) {
    StrokeState s = start;
    for (int k = 0; k < steps; ++k) s = advance(q, s, kOpen, kOpen, kOpen, 0.4e-3 / steps);
    return s.travel_metres;
  };
  const double exact = travel(4096);
  const double e1 = std::abs(travel(32) - exact), e2 = std::abs(travel(64) - exact);
  EXPECT_NEAR(std::log2(e1 / e2), 4.0, 0.5);
}

TEST(Advance, HeldPistonShowsNoAcceleration) {
  StrokeState s = charged(8e5);
  s.chamber_pascals = 101325.0 + 1.0e4;
  EXPECT_EQ(acceleration(baseline(), s), 0.0);
}

TEST(Advance, StalledPistonFallsBackOnItsSeatWhenFrictionLetsIt) {
  StrokeParameters q = baseline();
  q.breakaway_newtons = 5.0;
  q.running_friction_newtons = 2.0;
  StrokeState s = charged(0.0);
  s.travel_metres = 0.1;
  s.chamber_pascals = 101325.0;
  q.chamber_vent_conductance = 2.0e-8;
  for (int k = 0; k < 5000; ++k) s = advance(q, s, kShut, kShut, kShut, 1.0e-3);
  EXPECT_EQ(s.travel_metres, 0.0);
  EXPECT_FALSE(s.moving);
  EXPECT_NEAR(s.chamber_pascals, 101325.0, 1.0);
}

TEST(Advance, ChamberEmptiesAfterExitThroughItsVent) {
  StrokeParameters q = baseline();
  StrokeState s = charged(0.0);
  s.travel_metres = q.stroke_metres;
  s.chamber_pascals = 4.0e5;
  q.chamber_vent_conductance = 4.0e-8;
  for (int k = 0; k < 300; ++k) s = advance(q, s, kShut, kShut, kShut, 1.0e-3);
  EXPECT_NEAR(s.chamber_pascals, 101325.0, 1.0);
  EXPECT_EQ(s.travel_metres, q.stroke_metres);
}

TEST(Simulate, SameArgumentsGiveTheSameBits) {
  const StrokeSummary a = simulate_stroke(baseline(), 8e5), b = simulate_stroke(baseline(), 8e5);
  EXPECT_EQ(a.exit_speed_mps, b.exit_speed_mps);
  EXPECT_EQ(*a.exit_seconds, *b.exit_seconds);
}

TEST(Simulate, StepHardlyMatters) {
  const double fine = simulate_stroke(baseline(), 8e5, 2.0e-6).exit_speed_mps;
  EXPECT_NEAR(simulate_stroke(baseline(), 8e5, 20.0e-6).exit_speed_mps, fine, 1e-5 * fine);
  EXPECT_NEAR(simulate_stroke(baseline(), 8e5, 100.0e-6).exit_speed_mps, fine, 2e-3 * fine);
}

}  // namespace
}  // namespace coldstroke::analysis
