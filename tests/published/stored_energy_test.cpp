// SPDX-License-Identifier: GPL-3.0-or-later
//
// Stored energy, both stand-off distances and the projectile's reach against tests/published/data/stored_energy.json, which names
// the source of each; the isothermal vent-down against the vent times of tests/published/data/pneumatics.json.
#include "analysis/pneumatics/stored_energy.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "analysis/pneumatics/blowdown.hpp"
#include "tests/published/check_values.hpp"

namespace coldstroke::analysis {
namespace {

using nlohmann::json;
using published::allowed;
using published::check;
using published::expect_near;

const json& file() { return published::loaded("stored_energy.json"); }

class StoredEnergy : public testing::TestWithParam<const char*> {};

TEST_P(StoredEnergy, AgreesWithTheReferenceRow) {
  const json row = check(file(), GetParam());
  const double p = row.at("inputs").at("p_abs"), v = row.at("inputs").at("V");
  const double energy = stored_energy_pcc2_joules(p, v);
  expect_near(row, "E_pcc2_J", energy);
  expect_near(row, "E_brode_J", stored_energy_brode_joules(p, v));
  expect_near(row, "E_isothermal_J", stored_energy_isothermal_joules(p, v));
  expect_near(row, "TNT_kg", tnt_kilograms(energy));
  expect_near(row, "R20_m", stand_off(energy).scaled_metres);
  expect_near(row, "R20_2TNT_m", stand_off(energy, 20.0, 2.0).scaled_metres);
  expect_near(row, "floor_m", stand_off(energy).floor_metres.value_or(-1.0));
}

INSTANTIATE_TEST_SUITE_P(Published, StoredEnergy,
                         testing::Values("stored_reservoir_0.75L_8barg", "stored_reservoir_5L_10barg", "stored_supply_3L_150barg",
                                         "stored_workshop_receiver_24L_10barg", "stored_cylinder_10L_200barg"),
                         [](const auto& row) { return "row" + std::to_string(row.index); });

TEST(StoredEnergyFloor, FollowsTheBandsOfTheArticle) {
  EXPECT_EQ(stand_off(135.5e6).floor_metres, 30.0);
  EXPECT_EQ(stand_off(135.6e6).floor_metres, 60.0);
  EXPECT_EQ(stand_off(271.0e6).floor_metres, 60.0);
  EXPECT_FALSE(stand_off(271.1e6).floor_metres);
  EXPECT_EQ(stored_energy_pcc2_joules(101000.0, 1.0), 0.0);
}

TEST(ProjectileReach, AgreesWithTheFlatGroundBound) {
  const json row = check(file(), "ballistic_reach");
  const double v = row.at("inputs").at("v");
  expect_near(row, "R45", reach_metres(v));
  expect_near(row, "R_tilt10", reach_at_tilt_metres(v, 10.0 * M_PI / 180.0));
  expect_near(row, "h_max", apex_metres(v));
}

TEST(ProjectileReach, TheFragmentThresholdIsReachedAtThePublishedSpeed) {
  const json row = check(file(), "kinetic_79J");
  const double v = std::sqrt(2.0 * kHazardousFragmentJoules / row.at("inputs").at("m").get<double>());
  expect_near(row, "v_at_79J", v);
}

TEST(ProjectileReach, TheSpeedBoundIsTheConstantPressureStrokeWithoutFriction) {
  const json row = check(published::load("pneumatics.json"), "closed_const_pressure");
  const json& in = row.at("inputs");
  const double mass = in.at("m"), stroke = in.at("L");
  const double bound = exit_speed_bound_mps(in.at("p_gauge"), in.at("D"), stroke, mass, in.at("theta"));
  // the row has friction: its work is taken off again
  const double with_friction = std::sqrt(bound * bound - 2.0 * in.at("Fc").get<double>() * stroke / mass);
  expect_near(row, "v_exit", with_friction);
}

TEST(IsothermalBlowdown, AgreesWithTheVentTimes) {
  const json row = check(published::load("pneumatics.json"), "vent_down_C1");
  const json& in = row.at("inputs");
  const Blowdown vent{in.at("V"), in.at("C"), in.at("b"), in.at("patm"), in.at("T0")};
  for (const auto& [name, gauge] : {std::pair{"4.0", 4.0e5}, {"1.0", 1.0e5}, {"0.5", 0.5e5}, {"0.2", 0.2e5}, {"0.1", 0.1e5}}) {
    const std::string key = std::string{"t_s_to_"} + name + "_barg_isothermal";
    EXPECT_NEAR(isothermal_blowdown_seconds(vent, in.at("p0_abs"), vent.ambient_pascals + gauge),
                row.at("expected").at(key).get<double>(), allowed(row, key))
        << name;
  }
}

TEST(IsothermalBlowdown, ChokedItIsTheExponential) {
  const json row = check(published::load("pneumatics.json"), "blowdown_choked_isothermal");
  const json& in = row.at("inputs");
  const Blowdown vent{in.at("V"), in.at("C"), in.at("b"), 101325.0, in.at("T0")};
  for (const auto& [seconds, key] : {std::pair{0.020, "p_at_20ms_bar_abs"}, {0.050, "p_at_50ms_bar_abs"}}) {
    const double to = row.at("expected").at(key).get<double>() * 1.0e5;
    EXPECT_NEAR(isothermal_blowdown_seconds(vent, in.at("p0_abs"), to), seconds, 1.0e-6 * seconds);
  }
}

TEST(IsothermalBlowdown, AddsUpAlongTheWayAndNeverReachesAmbient) {
  const Blowdown vent{0.75e-3, 1.0e-8, 0.5};
  const double whole = isothermal_blowdown_seconds(vent, 9.0e5, 1.1e5);
  const double parts = isothermal_blowdown_seconds(vent, 9.0e5, 1.9e5) + isothermal_blowdown_seconds(vent, 1.9e5, 1.1e5);
  EXPECT_NEAR(whole, parts, 1.0e-9 * whole);
  EXPECT_EQ(isothermal_blowdown_seconds(vent, 2.0e5, 2.0e5), 0.0);
  EXPECT_TRUE(std::isinf(isothermal_blowdown_seconds(vent, 2.0e5, vent.ambient_pascals)));
}

}  // namespace
}  // namespace coldstroke::analysis
