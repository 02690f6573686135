// SPDX-License-Identifier: GPL-3.0-or-later
//
// Faults of gas, mechanics, sensors, firing channels and detector: what each does is there on the wire or in the truth, and is
// not there without it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "tests/daq/virtual_rig/faulty_bench.hpp"

namespace coldstroke::daq {
namespace {

using testing::Contains;
using testing::Each;
using wire::CommandCode;
using wire::Reason;

TEST(VirtualRigFault, OneStuckFastValveSlowsTheStroke) {
  Bench good{{}}, bad{{"stuck_fast_valve,valve=2"}};
  good.stroke();
  bad.stroke();
  const EjectionTruth fine = good.rig.unfinished_truth().value(), poor = bad.rig.unfinished_truth().value();
  EXPECT_NEAR(poor.story.exit_speed_mps / fine.story.exit_speed_mps, 13.181 / 14.531, 0.005);  // reference S3 over S0
  EXPECT_GT(poor.story.peak_time_seconds - *poor.story.release_seconds, 15.0e-3);
  EXPECT_THAT(poor.faults, Contains("stuck_fast_valve"));
}

TEST(VirtualRigFault, FastValveStandingOpenEjectsWithoutReleaseAndReadsBack) {
  Bench bench{{"fast_valve_stuck_open,step=holding,after_seconds=1"}};
  bench.host.prepare(1);
  ASSERT_TRUE(bench.host.charge(8.0e5, 0.5));
  bench.host.run_for(1.5);
  const EjectionTruth truth = bench.rig.unfinished_truth().value();
  EXPECT_FALSE(truth.story.release_seconds);
  EXPECT_TRUE(truth.story.separation_seconds);
  EXPECT_NE(bench.rig_state().faults & wire::kFaultReadback, 0);
}

TEST(VirtualRigFault, HangGivesGasButNoMotion) {
  Bench bench{{"hang"}};
  bench.stroke();
  EXPECT_THAT(bench.host.channel(Node::rig, 0, kForceScale), Each(testing::DoubleNear(0.0, 0.01)));
  const std::vector<double> chamber = bench.host.channel(Node::rig, 2, kPressureScale);
  EXPECT_GT(*std::max_element(chamber.begin(), chamber.end()), 6.0e5);
  bench.host.vent();
  bench.host.run_for(8.0);
  const std::vector<EjectionTruth> truth = bench.rig.take_truth();
  ASSERT_EQ(truth.size(), 1U);
  EXPECT_EQ(truth[0].outcome(), "no_motion");
}

TEST(VirtualRigFault, SlowAndBlockedVentsKeepThePressure) {
  std::vector<double> left;
  for (const char* fault : {"", "slow_vent,factor=0.1", "blocked_vent"}) {
    Bench bench{*fault == 0 ? std::vector<std::string>{} : std::vector<std::string>{fault}};
    bench.host.prepare(1);
    ASSERT_TRUE(bench.host.charge(8.0e5, 1.0));
    bench.host.vent();
    bench.host.run_for(2.0);
    EXPECT_NE(bench.rig_state().readback & wire::kVentValve, 0);
    left.push_back(bench.supply());
  }
  EXPECT_LT(left[0], 0.05e5);
  EXPECT_GT(left[1], 3.0e5);
  EXPECT_LT(left[1], 7.5e5);
  EXPECT_GT(left[2], 7.8e5);
}

TEST(VirtualRigFault, LeakingReservoirLosesItsCharge) {
  Bench tight{{}}, leaking{{"leaking_reservoir"}};
  for (Bench* bench : {&tight, &leaking}) {
    bench->host.prepare(1);
    ASSERT_TRUE(bench->host.charge(8.0e5, 10.0));
  }
  EXPECT_GT(tight.supply(), 7.9e5);
  EXPECT_LT(leaking.supply(), 7.3e5);
}

TEST(VirtualRigFault, CreepingRegulatorRaisesThePressureUntilTheBoardVents) {
  Bench bench{{"regulator_creep,litres_per_minute=20"}};
  bench.host.prepare(1);
  ASSERT_TRUE(bench.host.charge(8.0e5, 1.5));
  EXPECT_GT(bench.supply(), 8.2e5);
  bench.host.run_for(8.0);
  EXPECT_TRUE(bench.happened(wire::EventCode::vented_by_over_pressure));
  EXPECT_NE(bench.rig_state().faults & wire::kFaultOverPressure, 0);
}

TEST(VirtualRigFault, SaturatedForceSitsAtTheAmplifiersRail) {
  Bench bench{{"saturated_force,rail_newtons=500"}};
  bench.stroke();
  const auto counts = counts_of(bench.host, Node::rig, 0);
  const auto rail = *std::max_element(counts.begin(), counts.end());
  EXPECT_NEAR(rail * 2000.0 / 8388607.0, 500.0, 0.01);
  EXPECT_GT(std::count(counts.begin(), counts.end(), rail), 50);
}

TEST(VirtualRigFault, FrozenForceRepeatsItsLastCount) {
  Bench bench{{"frozen_force,after_seconds=1"}, Scenario{}};
  bench.stroke();
  const auto counts = counts_of(bench.host, Node::rig, 0);
  EXPECT_EQ(std::set<std::int32_t>(counts.begin(), counts.end()).size(), 1U);
}

TEST(VirtualRigFault, SmallAccelerometerHasAFlatTop) {
  Bench bench{{"saturated_acceleration,range_g=16"}};
  bench.host.prepare(1);
  ASSERT_TRUE(bench.host.charge(8.0e5, 1.5));
  ASSERT_EQ(bench.host.release(), Reason::done);
  bench.host.run_for(0.2);
  const auto counts = counts_of(bench.host, Node::flight, 2);
  const std::int32_t top = *std::max_element(counts.begin(), counts.end());
  EXPECT_NEAR(top * kAccelerationScale, 16.0 * 9.80665, 0.1);
  EXPECT_GT(std::count(counts.begin(), counts.end(), top), 40);
}

TEST(VirtualRigFault, UnpluggedSensorsReadAConstant) {
  for (const char* channel : {"force", "supply_pressure", "chamber_pressure", "dummy_current", "acceleration"}) {
    Bench bench{{std::string("unplugged_sensor,fraction_of_range=0.25,channel=") + channel}, Scenario{}};
    bench.host.greet();
    bench.host.run_for(0.2);
    const std::vector<std::string> rig_channels{"force", "supply_pressure", "chamber_pressure", "dummy_current"};
    const auto at = std::find(rig_channels.begin(), rig_channels.end(), channel);
    const auto counts = at == rig_channels.end()
                            ? counts_of(bench.host, Node::flight, 2)
                            : counts_of(bench.host, Node::rig, static_cast<std::size_t>(at - rig_channels.begin()));
    ASSERT_GT(counts.size(), 100U);
    // The very first samples may be older than the fault.
    EXPECT_THAT(std::vector(counts.begin() + 50, counts.end()), Each(at == rig_channels.end() ? 8192 : 2097152)) << channel;
  }
}

TEST(VirtualRigFault, ArmedBoardSaysSo) {
  Bench good{{}}, bad{{"armed_board"}};
  good.host.greet();
  bad.host.greet();
  EXPECT_FALSE(good.flight_state().armed_switch);
  EXPECT_TRUE(bad.flight_state().armed_switch);
}

TEST(VirtualRigFault, ContinuityIsSeenAndMeasured) {
  Bench good{{}}, bad{{"continuity_present,ohms=1.6,channel=2"}};
  good.host.greet();
  bad.host.greet();
  EXPECT_EQ(good.flight_state().continuity_mask, 0);
  EXPECT_EQ(bad.flight_state().continuity_mask, 2);
  EXPECT_EQ(bad.flight_state().milliohms, (std::vector<std::uint32_t>{wire::kOpenCircuit, 1600}));
}

Scenario load_box() {
  Scenario scenario = load_scenario("load_box").value();
  Scenario exact = exact_scenario();
  exact.firing = scenario.firing;
  return exact;
}

double strongest_current(const BenchHost& host) {
  const std::vector<double> amperes = host.channel(Node::rig, 3, kCurrentScale);
  return *std::max_element(amperes.begin(), amperes.end());
}

TEST(VirtualRigFault, DummyLoadsShowTheRightCurrentOnlyWhenAllIsWell) {
  Bench good{{}, load_box()}, wrong{{"wrong_dummy_load,ohms=4.7"}, load_box()},
      burnt{{"burnt_series_resistor,ohms=47"}, load_box()};
  for (Bench* bench : {&good, &wrong, &burnt}) bench->stroke();
  EXPECT_NEAR(strongest_current(good.host), 8.0 / (0.15 + 0.35 + 1.0 + 2.0), 0.001);
  EXPECT_NEAR(strongest_current(wrong.host), 8.0 / (0.15 + 0.35 + 1.0 + 4.7), 0.001);
  EXPECT_NEAR(strongest_current(burnt.host), 8.0 / (0.15 + 0.35 + 47.0 + 2.0), 0.001);
  EXPECT_EQ(good.flight_state().milliohms[0], 2000U);
  EXPECT_EQ(wrong.flight_state().milliohms[0], 4700U);
  EXPECT_EQ(burnt.flight_state().milliohms[0], 2000U);  // continuity looks good all the same
}

TEST(VirtualRigFault, NoCurrentWithoutArmSwitchOrLoad) {
  Scenario safe = load_box();
  safe.firing.arm_switch = false;
  Bench switched_off{{}, safe}, armed_without_load{{"armed_board"}};
  switched_off.stroke();
  armed_without_load.stroke();
  EXPECT_EQ(strongest_current(switched_off.host), 0.0);
  EXPECT_EQ(strongest_current(armed_without_load.host), 0.0);
}

TEST(VirtualRigFault, DetectorFaultsComeFromSettingsTheBoardItselfReports) {
  const std::vector<std::array<std::string, 4>> rows{{"detector_early", "early", "threshold_g", "2"},
                                                     {"detector_late", "late", "threshold_g", "65"},
                                                     {"detector_never", "missed", "window_ms", "250"}};
  for (const auto& [fault, outcome, key, value] : rows) {
    for (const std::uint64_t seed : {1U, 2U, 3U}) {
      Bench bench{{fault}, Scenario{}, seed};
      ASSERT_TRUE(bench.host.eject(1));
      EXPECT_EQ(bench.rig.take_truth().at(0).outcome(), outcome) << fault;
      const auto settings = bench.host.heard<wire::DetectorSetting>(Node::flight);
      EXPECT_TRUE(std::any_of(settings.begin(), settings.end(), [&](const wire::DetectorSetting& s) {
        return s.key == key && s.value == value;
      })) << fault;
    }
  }
}

TEST(VirtualRigFault, OpenStopLoopVents) {
  Bench bench{{"stop_loop_opens,step=charging,after_seconds=1"}};
  bench.host.prepare(1);
  ASSERT_EQ(bench.host.command_with_token(CommandCode::charge), Reason::done);
  bench.host.run_for(1.1);
  EXPECT_EQ(bench.rig_state().inputs & wire::kStopLoopClosed, 0);
  EXPECT_TRUE(bench.happened(wire::EventCode::vented_by_stop_loop));
}

TEST(VirtualRigFault, RemovedKeyRefusesRelease) {
  Bench bench{{"key_removed,step=holding"}};
  bench.host.prepare(1);
  ASSERT_TRUE(bench.host.charge(8.0e5, 0.5));
  EXPECT_EQ(bench.rig_state().inputs & wire::kReleaseKeyIn, 0);
  EXPECT_EQ(bench.host.release(), Reason::key_out);
}

TEST(VirtualRigFault, StuckReadbackIsNoticedByTheBoard) {
  Bench bench{{"readback_stuck,output=2"}};  // the vent seems to stay open
  bench.host.prepare(1);
  bench.host.command_with_token(CommandCode::charge);
  bench.host.run_for(0.3);
  EXPECT_NE(bench.rig_state().faults & wire::kFaultReadback, 0);
}

TEST(VirtualRigFault, ComesOnlyInTheEjectionItNames) {
  Bench bench{{"hang,ejection=2"}, Scenario{}};
  std::vector<std::string> outcomes;
  for (std::uint32_t n = 1; n <= 3; ++n) {
    ASSERT_TRUE(bench.host.eject(n));
    for (const EjectionTruth& truth : bench.rig.take_truth()) {
      outcomes.push_back(truth.outcome());
      EXPECT_EQ(truth.faults.size(), n == 2 ? 1U : 0U);
    }
  }
  EXPECT_EQ(outcomes, (std::vector<std::string>{"in_time", "no_motion", "in_time"}));
}

TEST(VirtualRigFault, EveryBuiltInScenarioEndsAsItsDescriptionSays) {
  const std::map<std::string, std::string, std::less<>> expected{
      {"steady", "in_time"},   {"long_window", "missed"},  {"hard_landing", "late"},
      {"slow_filter", "late"}, {"narrow_range", "missed"}, {"small_bottle", "in_time"},
      {"load_box", "in_time"}, {"weak_cell", "late"},      {"touchy", "early"}};
  for (const BuiltInScenario& built_in : built_in_scenarios()) {
    VirtualRig rig{load_scenario(std::string(built_in.name)).value(), 5};
    BenchHost host{exchange_with(rig)};
    ASSERT_TRUE(host.eject(1)) << built_in.name;
    const EjectionTruth truth = rig.take_truth().at(0);
    ASSERT_TRUE(expected.contains(built_in.name)) << built_in.name;
    EXPECT_EQ(truth.outcome(), expected.find(built_in.name)->second) << built_in.name;
    EXPECT_EQ(truth.droop_pascals() > 4.5e5, built_in.name == "small_bottle") << built_in.name;
    EXPECT_EQ(truth.story.memory_lost, built_in.name == "weak_cell");
  }
}

}  // namespace
}  // namespace coldstroke::daq
