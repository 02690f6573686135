// SPDX-License-Identifier: GPL-3.0-or-later
//
// Coast, standard atmosphere, ignition window, bridge model, valve ratings and charge against values from outside
// (tests/published/data/flight.json names each source).
#include <gtest/gtest.h>

#include <array>
#include <boost/math/constants/constants.hpp>
#include <boost/numeric/odeint.hpp>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "analysis/firing/firing_chain.hpp"
#include "analysis/flight/ignition_window.hpp"
#include "analysis/pneumatics/charge_plan.hpp"
#include "analysis/pneumatics/valve_rating.hpp"
#include "tests/published/check_values.hpp"

namespace coldstroke::analysis {
namespace {

using nlohmann::json;
using published::check;
using published::expect_near;

const json& file() { return published::loaded("flight.json"); }

Coast coast_of(const json& in) {
  const double d = in.at("d");
  return {in.at("m"), in.at("Cd").get<double>() * 0.25 * boost::math::constants::pi<double>() * d * d, in.at("rho")};
}

TEST(PublishedCoast, ClosedFormsAgree) {
  for (const char* id : {"apex_v8", "apex_v10", "apex_v12", "apex_v14.5311", "apex_v18"}) {
    const json row = check(file(), id);
    const Coast coast = coast_of(row.at("inputs"));
    const double v0 = row.at("inputs").at("v0");
    const Apex apex = apex_of(coast, v0);
    expect_near(row, "v_term", terminal_speed_mps(coast));
    expect_near(row, "t_apex", apex.seconds);
    expect_near(row, "h_apex", apex.height_metres);
    expect_near(row, "t_apex_vac", seconds_to_apex_without_drag(v0, 0.0));
    const double fall = row.at("expected").at("t_fall");
    EXPECT_NEAR(coast_at(coast, v0, apex.seconds + fall).height_metres, 0.0, 2.0e-4);
    expect_near(row, "v_impact", -coast_at(coast, v0, apex.seconds + fall).speed_mps);
  }
}

// Equations of motion in a plane, integrated by Boost.Odeint: an independent way to the same numbers, also for a tilted tube.
TEST(PublishedCoast, IntegrationAgreesUprightAndTilted) {
  using State = std::array<double, 4>;  // x, z, vx, vz
  const Coast coast{1.5, 0.6 * 0.00441786, 1.225};
  for (const double tilt : {0.0, 0.05, 0.1745}) {
    const double v0 = 14.5, k = 0.5 * coast.air_density_kg_per_m3 * coast.drag_area_m2 / coast.mass_kg;
    State s{0.0, 0.0, v0 * std::sin(tilt), v0 * std::cos(tilt)};
    const VerticalPart part = vertical_part(coast, v0, tilt);
    const double apex = apex_of(part.coast, part.exit_speed_mps).seconds;
    const auto law = [k](const State& y, State& dy, double) {
      const double speed = std::hypot(y[2], y[3]);
      dy = {y[2], y[3], -k * speed * y[2], -9.80665 - k * speed * y[3]};
    };
    namespace ode = boost::numeric::odeint;
    ode::integrate_adaptive(ode::make_controlled<ode::runge_kutta_dopri5<State>>(1e-12, 1e-12), law, s, 0.0, apex, 1e-3);
    const double height = apex_of(part.coast, part.exit_speed_mps).height_metres;
    std::printf("tilt %.4f: apex %.9g closed, %.9g integrated; speed left %.2e m/s\n", tilt, height, s[1], s[3]);
    EXPECT_NEAR(s[1] / height, 1.0, tilt > 0.0 ? 1.0e-3 : 1.0e-9);
    EXPECT_NEAR(s[3], 0.0, tilt > 0.0 ? 0.02 : 1.0e-8);
  }
}

TEST(PublishedAtmosphere, UsStandardAtmosphere1976) {
  for (const char* id : {"us76_0", "us76_500", "us76_1000", "us76_1500", "us76_2000", "us76_3000"}) {
    const json row = check(file(), id);
    const double density = standard_air_density_kg_per_m3(row.at("inputs").at("Z_m"));
    expect_near(row, "rho", density);
    EXPECT_NEAR(density / row.at("inputs").at("table_rho_from_memory").get<double>(), 1.0, 1.0e-4);
  }
}

TEST(PublishedIgnition, TimingChains) {
  for (const char* id : {"ignition_nominal", "ignition_late", "ignition_too_late"}) {
    const json row = check(file(), id);
    const json& in = row.at("inputs");
    const IgnitionWindowSetup chain{in.at("t_logic"), {in.at("t_igniter"), 0.0}, {in.at("t_build"), 0.0}, 0.0, 5.0, 0.99};
    const VerticalPart climb{coast_of(check(file(), "apex_v8").at("inputs")), in.at("v0")};
    const double thrust = in.at("t_detect").get<double>() + mean_thrust_seconds(chain);
    const CoastPoint there = coast_at(climb.coast, climb.exit_speed_mps, thrust);
    expect_near(row, "t_thrust", thrust);
    expect_near(row, "v_at_thrust", there.speed_mps);
    expect_near(row, "h_at_thrust", there.height_metres);
    expect_near(row, "margin_to_apex", apex_of(climb.coast, climb.exit_speed_mps).seconds - thrust);
    const auto window = ignition_window(climb, chain);
    ASSERT_TRUE(window.has_value());
    EXPECT_EQ(probability_in_window(*window, chain, in.at("t_detect")) > 0.5, row.at("expected").at("verdict") == "inside");
  }
  const json edge = check(file(), "ignition_latest_v5");
  const Coast coast = coast_of(check(file(), "apex_v8").at("inputs"));
  const double latest = *seconds_to_speed(coast, edge.at("inputs").at("v0"), edge.at("inputs").at("v_min"));
  expect_near(edge, "t_latest", latest);
  expect_near(edge, "h", coast_at(coast, edge.at("inputs").at("v0"), latest).height_metres);
}

FiringSetup bridge(const json& in) {
  FiringSetup s;
  s.bridge_threshold_amperes = in.at("I_threshold");
  s.bridge_time_constant_seconds = in.at("tau_s");
  return s;
}

TEST(PublishedBridge, LumpedModel) {
  for (const char* id : {"bridge_lumped_0.35A", "bridge_lumped_0.5A", "bridge_lumped_1A", "bridge_lumped_3A"}) {
    const json row = check(file(), id);
    const double amperes = row.at("inputs").at("I"), seconds = *bridge_fires_after_seconds(bridge(row.at("inputs")), amperes);
    expect_near(row, "t_fire_ms", seconds * 1.0e3);
    expect_near(row, "I2t_mA2s", amperes * amperes * seconds * 1.0e3);
  }
  // Short pulses: I^2 t goes to threshold^2 tau.
  const json limit = check(file(), "bridge_adiabatic_I2t");
  const double seconds = *bridge_fires_after_seconds(bridge(limit.at("inputs")), 3.2e4);
  EXPECT_NEAR(3.2e4 * 3.2e4 * seconds / limit.at("expected").at("I2t_A2s").get<double>(), 1.0, 1.0e-8);
  EXPECT_FALSE(bridge_fires_after_seconds(bridge(limit.at("inputs")), 0.32).has_value());
}

TEST(PublishedFiring, LoopsAndPulse) {
  for (const char* id :
       {"fire_loop_series_1ohm", "fire_loop_series_4.7ohm", "fire_loop_series_47ohm", "fire_loop_series_470ohm"}) {
    const json row = check(file(), id);
    const json& in = row.at("inputs");
    FiringSetup s;
    s.dummy_ohms = 2.0;
    s.bridge_ohms = in.at("R_bridge");
    s.supply_volts = in.at("V");
    const double rest = in.at("R_int").get<double>() + in.at("R_wire_switch").get<double>() + in.at("R_series").get<double>();
    expect_near(row, "I", hot_bridge_amperes(s, s.supply_volts / (rest + s.dummy_ohms)));
  }
  // Nearly a pure voltage source: 4.1 A cold are 2.8 A hot.
  const json rise = check(file(), "nasa_bridge_rise");
  FiringSetup hot;
  hot.dummy_ohms = rise.at("inputs").at("R1");
  hot.bridge_ohms = rise.at("inputs").at("R1");
  hot.hot_factor = rise.at("inputs").at("R2").get<double>() / hot.bridge_ohms;
  EXPECT_NEAR(hot_bridge_amperes(hot, rise.at("inputs").at("I1")), rise.at("inputs").at("I2").get<double>(), 0.01);
  const json pulse = check(file(), "dummy_load_pulse");
  const json& in = pulse.at("inputs");
  std::vector<double> amperes;
  constexpr double kPeriod = 1.0e-5;
  for (int i = 0; i < 5000; ++i) amperes.push_back(4.0 - (i + 0.5) / 5000.0);
  FiringSetup s;
  s.all_fire_amperes = in.at("I_all_fire");
  s.hold_seconds = in.at("t_all_fire");
  s.margin = in.at("factor");
  s.bridge_threshold_amperes = 0.32;
  s.bridge_time_constant_seconds = 0.015;
  s.dummy_ohms = in.at("R");
  const FiringReport report = judge_firing({amperes, 0.0, kPeriod, 0.05}, s, {});
  EXPECT_EQ(report.outcome, FiringOutcome::would_fire) << report.reason;
  expect_near(pulse, "I2t_A2s", *report.action_ampere2_seconds);
}

TEST(PublishedValves, RatingsToConductance) {
  const json area = check(file(), "area_to_C"), kv = check(file(), "kv_to_C_iec"), cv = check(file(), "cv_kv");
  expect_near(area, "C_dm3_s_bar", conductance_of_area(1.0e-6) * 1.0e8);
  expect_near(kv, "C_dm3_s_bar", conductance_of_kv(1.0, 0.72) * 1.0e8);
  expect_near(kv, "C_per_Cv", conductance_of_kv(kv_of_cv(1.0), 0.72) * 1.0e8);
  expect_near(cv, "Kv", kv_of_cv(1.0));
  for (const char* id : {"iec_gas_choked", "iec_gas_nonchoked"}) {
    const json row = check(file(), id);
    const json& in = row.at("inputs");
    expect_near(row, "Kv",
                kv_for({in.at("Q_m3s_0C").get<double>() * 3600.0, in.at("P1"), in.at("P2"), in.at("T"), in.at("M"),
                        in.at("gamma"), in.at("Z")},
                       in.at("xT")));
  }
}

TEST(PublishedCharge, LosslessExitSpeeds) {
  for (const bool isothermal : {false, true}) {
    const json row = check(file(), isothermal ? "closed_isothermal_charge" : "closed_adiabatic_charge");
    const json& in = row.at("inputs");
    StrokeParameters q;
    q.bore_metres = in.at("D");
    q.stroke_metres = in.at("L");
    q.vehicle_mass_kg = in.at("m");
    q.piston_mass_kg = 0.0;
    q.reservoir_volume_m3 = in.at("V0");
    expect_near(row, "v_exit",
                lossless_exit_speed_mps(q, in.at("p0_abs").get<double>() - q.ambient_pascals, in.at("Fc"), isothermal));
  }
}

// The inverse question against root searches by an independent program, for five rigs. The plan is given the true parameters.
TEST(PublishedCharge, ChargeForAWantedSpeed) {
  struct Rig {
    const char* id;
    double litres;
    int valves;
  };
  ChargePlan plan;
  plan.rig.valve_conductance = 8.0e-8;
  plan.valve_conductance = {8.0e-8, 0.0};
  plan.running_friction_newtons = {15.0, 0.0};
  plan.seal_friction_fraction = {0.05, 0.0};
  plan.valve_opening_seconds = {0.010, 0.0};
  plan.covariance.setZero();
  for (const Rig& rig : {Rig{"planner_0.75L", 0.75, 2}, Rig{"planner_1.5L", 1.5, 2}, Rig{"planner_5L", 5.0, 2},
                         Rig{"planner_0.75L_one_valve", 0.75, 1}, Rig{"planner_0.30L", 0.30, 2}}) {
    const json row = check(file(), rig.id);
    for (const int speed : {8, 10, 12, 14}) {
      const auto answer =
          charge_for(plan, {0.0, 1.5, rig.litres * 1.0e-3, rig.valves}, {static_cast<double>(speed), 0.0, 15.0e5}, Beyond::allow);
      ASSERT_TRUE(answer.has_value());
      ASSERT_EQ(answer->kind, ChargeAnswer::Kind::found);
      expect_near(row, ("p_barg_for_" + std::to_string(speed) + "_m_s").c_str(), answer->charge_gauge_pascals.value * 1.0e-5);
    }
  }
}

}  // namespace
}  // namespace coldstroke::analysis
