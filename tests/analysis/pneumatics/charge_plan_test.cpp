// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/pneumatics/charge_plan.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <random>

namespace coldstroke::analysis {
namespace {

PlanRig guessed_rig() {
  PlanRig rig;
  rig.parameters.running_friction_newtons = 20.0;
  rig.parameters.seal_friction_fraction = 0.08;
  rig.valve_conductance = 6.0e-8;
  rig.valve_opening_seconds = 0.014;
  return rig;
}

StrokeParameters true_rig(const PlanConditions& c) {
  StrokeParameters q;
  q.vehicle_mass_kg = c.vehicle_mass_kg;
  q.reservoir_volume_m3 = c.reservoir_volume_m3;
  q.valves.assign(static_cast<std::size_t>(c.valve_count), Valve{8.0e-8, 0.3, 0.006, 0.010});
  return q;
}

struct Shots {
  explicit Shots(std::uint64_t seed) : random{seed} {}
  RecordedStroke shoot(std::int64_t number, const PlanConditions& c) {
    const StrokeSummary s = simulate_stroke(true_rig(c), c.charge_gauge_pascals, 5.0e-5);
    RecordedStroke out;
    out.trial = number;
    out.conditions = c;
    const auto seen = [&](double value, double part) { return Known{value * (1.0 + part * unit(random)), part * value}; };
    out.exit_speed_mps = seen(s.exit_speed_mps, 0.003);
    out.stroke_time_seconds = seen(*s.exit_seconds - *s.first_motion_seconds, 0.002);
    out.peak_acceleration_g = seen(s.peak_acceleration_mps2 / kStandardGravity + 1.0, 0.008);
    out.droop_pascals = seen(c.charge_gauge_pascals + 101325.0 - s.reservoir_at_exit_pascals, 0.005);
    return out;
  }
  std::mt19937_64 random;
  std::normal_distribution<double> unit;
};

std::vector<RecordedStroke> recorded(std::uint64_t seed) {
  Shots shots{seed};
  std::vector<RecordedStroke> out;
  for (const double bar : {5.0, 6.0, 7.0, 8.0, 9.0})
    out.push_back(shots.shoot(static_cast<std::int64_t>(out.size()) + 1, {bar * 1.0e5, 1.5, 0.75e-3, 2}));
  return out;
}

const ChargePlan& plan() {
  static const ChargePlan made = *fit_charge_plan(guessed_rig(), recorded(1));
  return made;
}

TEST(ChargePlan, FindsTheConductanceFromAWrongGuess) {
  EXPECT_NEAR(plan().valve_conductance.value / 8.0e-8, 1.0, 0.05);
  EXPECT_LT(plan().valve_conductance.standard_uncertainty, 0.1 * plan().valve_conductance.value);
  EXPECT_NEAR(plan().valve_opening_seconds.value, 0.010, 0.003);
  EXPECT_EQ(plan().residuals.size(), 20U);
  for (const Residual& r : plan().residuals) EXPECT_NEAR(r.fitted / r.measured, 1.0, 0.03);
}

TEST(ChargePlan, PredictsTrialsItHasNotSeen) {
  double worst = 0.0;
  for (const double bar : {5.5, 6.5, 7.5, 8.5, 9.5})
    for (const double mass : {1.3, 1.5, 1.8}) {
      const PlanConditions c{bar * 1.0e5, mass, 0.75e-3, 2};
      const auto p = predict(plan(), c, Beyond::refuse);
      ASSERT_TRUE(p.has_value());
      const StrokeSummary s = simulate_stroke(true_rig(c), c.charge_gauge_pascals, 5.0e-5);
      worst = std::max(worst, std::abs(p->exit_speed_mps.value / s.exit_speed_mps - 1.0));
      EXPECT_GE(s.exit_speed_mps, p->exit_speed_mps.low_95);
      EXPECT_LE(s.exit_speed_mps, p->exit_speed_mps.high_95);
      EXPECT_NEAR(p->peak_acceleration_g.value / (s.peak_acceleration_mps2 / kStandardGravity + 1.0), 1.0, 0.03);
    }
  std::printf("largest error of the exit speed on trials not seen: %.2f %%\n", 100.0 * worst);
  EXPECT_LT(worst, 0.01);
}

TEST(ChargePlan, RefusesToGoBeyondAndSaysSoWhenToldTo) {
  const PlanConditions far{14.0e5, 1.5, 0.75e-3, 2}, one_valve{7.0e5, 1.5, 0.75e-3, 1};
  const auto refused = predict(plan(), far, Beyond::refuse);
  ASSERT_FALSE(refused.has_value());
  EXPECT_NE(refused.error().what.find("14 bar"), std::string::npos) << refused.error().what;
  EXPECT_FALSE(predict(plan(), one_valve, Beyond::refuse).has_value());
  const auto told = predict(plan(), one_valve, Beyond::allow);
  ASSERT_TRUE(told.has_value());
  EXPECT_EQ(told->beyond.size(), 1U);
  const StrokeSummary s = simulate_stroke(true_rig(one_valve), 7.0e5, 5.0e-5);
  EXPECT_NEAR(told->exit_speed_mps.value / s.exit_speed_mps, 1.0, 0.02);
  EXPECT_FALSE(predict(plan(), {-1.0, 1.5, 0.75e-3, 2}, Beyond::allow).has_value());
}

TEST(ChargePlan, AnswersWhichCharge) {
  const PlanConditions c{0.0, 1.5, 0.75e-3, 2};
  const auto found = charge_for(plan(), c, {13.0, 60.0, 9.0e5}, Beyond::refuse);
  ASSERT_TRUE(found.has_value());
  EXPECT_EQ(found->kind, ChargeAnswer::Kind::found);
  const StrokeSummary s = simulate_stroke(true_rig(c), found->charge_gauge_pascals.value, 5.0e-5);
  EXPECT_NEAR(s.exit_speed_mps, 13.0, 0.13);
  // The same speed under 40 g cannot be had on this rig: it says what can.
  const auto hard = charge_for(plan(), c, {13.0, 40.0, 9.0e5}, Beyond::refuse);
  ASSERT_TRUE(hard.has_value());
  EXPECT_EQ(hard->kind, ChargeAnswer::Kind::too_hard);
  ASSERT_TRUE(hard->gentle.has_value());
  EXPECT_LE(hard->gentle->peak_acceleration_g.high_95, 40.3);
  EXPECT_LT(hard->gentle->exit_speed_mps.value, 13.0);
  const auto weak = charge_for(plan(), c, {19.0, 0.0, 9.0e5}, Beyond::refuse);
  ASSERT_TRUE(weak.has_value());
  EXPECT_EQ(weak->kind, ChargeAnswer::Kind::not_reached);
  EXPECT_FALSE(charge_for(plan(), c, {7.0, 0.0, 9.0e5}, Beyond::refuse).has_value()) << "its charge is below what was recorded";
}

TEST(ChargePlan, AGentleChargeBeyondTheTrialsIsSaidInWordsOrMarked) {
  // The charge for 20 g lies far below the 5 bar that were recorded.
  const PlanConditions c{0.0, 1.5, 0.75e-3, 2};
  const auto refused = charge_for(plan(), c, {13.0, 20.0, 9.0e5}, Beyond::refuse);
  ASSERT_TRUE(refused.has_value());
  EXPECT_EQ(refused->kind, ChargeAnswer::Kind::too_hard);
  EXPECT_FALSE(refused->gentle.has_value());
  EXPECT_FALSE(refused->gentle_charge_gauge_pascals.has_value()) << "no number without its mark";
  EXPECT_NE(refused->no_gentle.find("outside what the recorded trials can say: charge"), std::string::npos) << refused->no_gentle;
  const auto told = charge_for(plan(), c, {13.0, 20.0, 9.0e5}, Beyond::allow);
  ASSERT_TRUE(told.has_value() && told->gentle.has_value());
  EXPECT_TRUE(told->no_gentle.empty());
  EXPECT_EQ(told->gentle->beyond.size(), 1U);
  EXPECT_LE(told->gentle->peak_acceleration_g.high_95, 20.3);
  // Below 2 g the vehicle no longer leaves: nothing to be had, and that is said.
  const auto stuck = charge_for(plan(), c, {13.0, 1.2, 9.0e5}, Beyond::allow);
  ASSERT_TRUE(stuck.has_value());
  EXPECT_FALSE(stuck->gentle.has_value());
  EXPECT_NE(stuck->no_gentle.find("stuck in the tube"), std::string::npos) << stuck->no_gentle;
}

TEST(ChargePlan, AStallIsAJamHazardAndNoSpeed) {
  const auto p = predict(plan(), {1.0e5, 1.5, 0.30e-3, 2}, Beyond::allow);
  ASSERT_TRUE(p.has_value());
  EXPECT_FALSE(p->leaves);
}

TEST(ChargePlan, RefusesTooFewOrSenselessTrials) {
  auto trials = recorded(2);
  trials[0].conditions.vehicle_mass_kg = 0.0;
  EXPECT_FALSE(fit_charge_plan(guessed_rig(), trials).has_value());
  trials.resize(2);
  EXPECT_FALSE(fit_charge_plan(guessed_rig(), trials).has_value());
  PlanRig rig = guessed_rig();
  rig.valve_conductance = 0.0;
  EXPECT_FALSE(fit_charge_plan(rig, recorded(2)).has_value());
}

}  // namespace
}  // namespace coldstroke::analysis
