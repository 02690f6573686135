// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/scenario.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <set>
#include <sstream>

#include "daq/setup/setup.hpp"
#include "daq/virtual_rig/scenario_setup.hpp"
#include "daq/virtual_rig/sensor_bank.hpp"

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;

std::string file_text(const std::string& name) {
  std::ifstream in{std::string(COLDSTROKE_SOURCE_DIR) + "/" + name};
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

TEST(Scenario, SteadyFileStatesTheDefaults) {
  const Result<Scenario> steady = load_scenario("steady");
  ASSERT_TRUE(steady) << steady.error().what << " " << steady.error().where;
  Scenario expected;
  EXPECT_EQ(steady->description, expected.description);
  // The file's units are people's: compare what the numbers come to, not their last bits.
  EXPECT_DOUBLE_EQ(steady->gas.reservoir_volume_m3, expected.gas.reservoir_volume_m3);
  EXPECT_DOUBLE_EQ(steady->gas.regulator_flow_kg_per_s, expected.gas.regulator_flow_kg_per_s);
  EXPECT_DOUBLE_EQ(steady->gas.regulator_set_pascals, expected.gas.regulator_set_pascals);
  EXPECT_DOUBLE_EQ(steady->gas.wall_watts_per_kelvin, expected.gas.wall_watts_per_kelvin);
  EXPECT_DOUBLE_EQ(steady->valves.fast_conductance, expected.valves.fast_conductance);
  EXPECT_DOUBLE_EQ(steady->acceleration.zero_standard_uncertainty, expected.acceleration.zero_standard_uncertainty);
  EXPECT_NEAR(steady->acceleration.noise_rms, expected.acceleration.noise_rms, 0.01);
  EXPECT_EQ(steady->tube, expected.tube);
  EXPECT_EQ(steady->vehicle, expected.vehicle);
  EXPECT_EQ(steady->boards, expected.boards);
  EXPECT_EQ(steady->line, expected.line);
  EXPECT_EQ(steady->force, expected.force);
  EXPECT_EQ(steady->detector, expected.detector);
  EXPECT_EQ(steady->firing, expected.firing);
}

TEST(Scenario, DefaultsFitTheSetupOfTheVirtualRig) {
  const Result<daq::Setup> setup = parse_setup(virtual_setup_text(), "virtual setup");
  ASSERT_TRUE(setup) << setup.error().what;
  const Scenario s;
  EXPECT_EQ(setup->rig_port.baud, static_cast<int>(s.boards.rig_baud));
  EXPECT_EQ(setup->flight_port.baud, static_cast<int>(s.boards.flight_baud));
  // Half the difference of two ways, each uniform between low and high.
  const double asymmetry = (s.line.latency_high_seconds - s.line.latency_low_seconds) / std::sqrt(24.0);
  for (const PortSetup& port : {setup->rig_port, setup->flight_port}) {
    EXPECT_TRUE(port.uart);
    ASSERT_TRUE(port.asymmetry_standard_uncertainty_seconds);
    EXPECT_NEAR(*port.asymmetry_standard_uncertainty_seconds, asymmetry, 0.01 * asymmetry);
  }
  EXPECT_DOUBLE_EQ(setup->trial.vehicle_mass_kg, s.vehicle.mass_kg);
  EXPECT_DOUBLE_EQ(setup->trial.vehicle_mass_standard_uncertainty_kg, s.vehicle.mass_standard_uncertainty_kg);
  EXPECT_DOUBLE_EQ(setup->trial.moving_rig_mass_kg, s.tube.piston_mass_kg);
  EXPECT_DOUBLE_EQ(setup->trial.moving_rig_mass_standard_uncertainty_kg, s.tube.piston_mass_standard_uncertainty_kg);
  EXPECT_DOUBLE_EQ(setup->trial.stroke_metres, s.tube.stroke_metres);
  EXPECT_DOUBLE_EQ(setup->trial.stroke_standard_uncertainty_metres, s.tube.stroke_standard_uncertainty_metres);
  EXPECT_DOUBLE_EQ(setup->trial.bore_metres, s.tube.bore_metres);
  EXPECT_DOUBLE_EQ(setup->trial.decision_deadline_seconds, s.detector.decision_deadline_seconds);
  EXPECT_DOUBLE_EQ(setup->trial.force_cell_natural_frequency_hz, s.force.bandwidth_hz);
  const SensorBank sensors{s, 1};
  const auto same = [&](analysis::Role role, const SensorScatter& sensor, double scale) {
    const ChannelSetup* channel = setup->channel(role);
    ASSERT_NE(channel, nullptr);
    EXPECT_DOUBLE_EQ(channel->calibration.scale, scale) << channel->name;
    EXPECT_DOUBLE_EQ(channel->calibration.gain_standard_uncertainty, sensor.gain_standard_uncertainty) << channel->name;
    EXPECT_NEAR(channel->calibration.zero_standard_uncertainty, sensor.zero_standard_uncertainty, 1.0e-9) << channel->name;
    EXPECT_NEAR(channel->range_high, sensor.range_high, 1.0e-6) << channel->name;
  };
  same(analysis::Role::force, s.force, sensors.rig_scale(RigChannel::force));
  same(analysis::Role::supply_pressure, s.supply_pressure, sensors.rig_scale(RigChannel::supply_pressure));
  same(analysis::Role::chamber_pressure, s.chamber_pressure, sensors.rig_scale(RigChannel::chamber_pressure));
  same(analysis::Role::dummy_load_current, s.dummy_current, sensors.rig_scale(RigChannel::dummy_current));
  same(analysis::Role::vehicle_acceleration, s.acceleration, sensors.flight_scale());
}

TEST(Scenario, EveryBuiltInOneReadsAndCarriesItsName) {
  std::set<std::string> names;
  for (const BuiltInScenario& one : built_in_scenarios()) {
    const Result<Scenario> scenario = parse_scenario(one.text, std::string(one.name));
    ASSERT_TRUE(scenario) << one.name << ": " << scenario.error().what << " " << scenario.error().where;
    EXPECT_EQ(scenario->name, one.name);
    EXPECT_FALSE(scenario->description.empty());
    names.insert(std::string(one.name));
  }
  EXPECT_EQ(names.size(), built_in_scenarios().size());
  EXPECT_GE(names.size(), 4U);
}

TEST(Scenario, FaultsAreReadWithTheirKeys) {
  const Result<Scenario> scenario = parse_scenario(
      "[[fault]]\nname = \"lost_frames\"\nnode = \"both\"\nprobability = 0.5\nejection = 3\n"
      "[[fault]]\nname = \"hang\"\nejection = \"every\"\nstep = \"holding\"\nafter_seconds = 2\nlasting_seconds = 1.5\n",
      "two.toml");
  ASSERT_TRUE(scenario) << scenario.error().what;
  ASSERT_EQ(scenario->faults.size(), 2U);
  EXPECT_EQ(scenario->faults[0].kind, FaultKind::lost_frames);
  EXPECT_EQ(scenario->faults[0].number("probability"), 0.5);
  EXPECT_EQ(scenario->faults[0].word("node"), "both");
  EXPECT_EQ(scenario->faults[0].ejection, 3);
  EXPECT_EQ(scenario->faults[1].ejection, 0);
  EXPECT_EQ(scenario->faults[1].step, 2);
  EXPECT_EQ(scenario->faults[1].after_seconds, 2.0);
  EXPECT_EQ(scenario->faults[1].lasting_seconds, 1.5);
}

struct Wrong {
  const char *text, *where, *remedy;
};

class ScenarioComplaint : public testing::TestWithParam<Wrong> {};

TEST_P(ScenarioComplaint, NamesThePlaceAndTheRemedy) {
  const Result<Scenario> scenario = parse_scenario(GetParam().text, "mine.toml");
  ASSERT_FALSE(scenario);
  EXPECT_THAT(scenario.error().where, HasSubstr(GetParam().where));
  EXPECT_THAT(scenario.error().remedy, HasSubstr(GetParam().remedy));
}

INSTANTIATE_TEST_SUITE_P(
    Files, ScenarioComplaint,
    testing::Values(Wrong{"[gas\n", "mine.toml, line 1", "docs/virtual-rig.md"},
                    Wrong{"\n[gas]\nvolume = 1\n", "line 3, key gas.volume", "gas.reservoir_volume_litres"},
                    Wrong{"[steam]\nvolume = 1\n", "steam.volume", "sections gas"},
                    Wrong{"[vehicle]\nmass_kg = -1.0\n", "line 2, key vehicle.mass_kg", "0.01 to 100"},
                    Wrong{"[vehicle]\nmass_kg = \"heavy\"\n", "vehicle.mass_kg", "0.01 to 100"},
                    Wrong{"[vehicle]\nmass_kg = nan\n", "vehicle.mass_kg", "0.01 to 100"},
                    Wrong{"[vehicle]\ncable_drops = 1\n", "vehicle.cable_drops", "true or false"},
                    Wrong{"[vehicle]\nseparation = \"loud\"\n", "vehicle.separation", "hang_up"},
                    Wrong{"[detector]\naxis = \"q\"\n", "detector.axis", "\"x\", \"y\" or \"z\""},
                    Wrong{"[detector]\nwindow_seconds = 1.0\n", "detector.window_seconds", "512 samples"},
                    Wrong{"[line]\nlatency_low_seconds = 0.01\n", "section line", "latency_high_seconds"},
                    Wrong{"[[fault]]\nejection = 1\n", "fault.name", "name ="},
                    Wrong{"[[fault]]\nname = \"gremlins\"\n", "line 2, key fault.name", "lost_frames"},
                    Wrong{"[[fault]]\nname = \"hang\"\nvalve = 1\n", "line 3, key fault.valve", "after_seconds"},
                    Wrong{"[[fault]]\nname = \"stuck_fast_valve\"\nvalve = 3\n", "fault.valve", "1.0"},
                    Wrong{"[[fault]]\nname = \"lost_frames\"\nnode = \"moon\"\n", "fault.node", "rig|flight|both"},
                    Wrong{"[[fault]]\nname = \"hang\"\nstep = \"asleep\"\n", "fault.step", "holding"},
                    Wrong{"fault = 3\n", "key fault", "[[fault]]"}));

TEST(Scenario, CommandLineFaultsComplainToo) {
  for (const char* text : {"", "nothing", "hang,", "hang,step", "lost_frames,probability=much", "lost_frames,probability=2",
                           "lost_frames,node=moon", "hang,ejection=1.5", "hang,after_seconds=-1"})
    EXPECT_FALSE(parse_fault(text)) << text;
  EXPECT_TRUE(parse_fault("lost_frames,probability=0.25,node=both,ejection=2,step=charging,after_seconds=1,lasting_seconds=2"));
}

TEST(Scenario, FilesThatAreNotThereAreNamed) {
  const Result<Scenario> missing = load_scenario("/no/such/file.toml");
  ASSERT_FALSE(missing);
  EXPECT_EQ(missing.error().where, "/no/such/file.toml");
  const Result<Scenario> unknown = load_scenario("stedy");
  ASSERT_FALSE(unknown);
  EXPECT_THAT(unknown.error().remedy, HasSubstr("steady"));
}

TEST(ScenarioPage, NamesEveryKeyEveryFaultAndEveryScenario) {
  const std::string page = file_text("docs/virtual-rig.md");
  ASSERT_FALSE(page.empty());
  for (const std::string& key : scenario_keys()) {
    const std::size_t dot = key.find('.');
    EXPECT_THAT(page, HasSubstr("`" + (dot == std::string::npos ? key : key.substr(dot + 1)) + "`")) << key;
  }
  for (const FaultRow& fault : fault_table()) {
    EXPECT_THAT(page, HasSubstr("`" + std::string(fault.name) + "`"));
    for (const FaultNumber& number : fault.numbers) EXPECT_THAT(page, HasSubstr("`" + std::string(number.key) + "`"));
    for (const FaultWord& word : fault.words) EXPECT_THAT(page, HasSubstr("`" + std::string(word.key) + "`"));
  }
  for (const BuiltInScenario& one : built_in_scenarios()) EXPECT_THAT(page, HasSubstr("`" + std::string(one.name) + "`"));
}

TEST(SetupForScenario, StatesWhatTheScenarioChanges) {
  const auto plain = setup_text_for("steady"), loads = setup_text_for("load_box");
  ASSERT_TRUE(plain);
  ASSERT_TRUE(loads);
  EXPECT_EQ(*plain, virtual_setup_text());
  const auto setup = parse_setup(*loads, "load box");
  ASSERT_TRUE(setup) << setup.error().what;
  ASSERT_EQ(setup->firing_channels.size(), 2u);
  const auto scenario = load_scenario("load_box");
  ASSERT_TRUE(scenario);
  for (const FiringChannel& channel : setup->firing_channels) {
    EXPECT_TRUE(channel.dummy_load);
    EXPECT_EQ(channel.ohms, scenario->firing.load_ohms);
  }
  EXPECT_FALSE(setup_text_for("no such scenario"));
  const auto bottle = parse_setup(*setup_text_for("small_bottle"), "small bottle");
  ASSERT_TRUE(bottle) << bottle.error().what;
  EXPECT_DOUBLE_EQ(bottle->reservoir_volume_m3, 0.30e-3);
  const auto slow = parse_setup(*setup_text_for("slow_filter"), "slow filter");
  ASSERT_TRUE(slow) << slow.error().what;
  EXPECT_NEAR(slow->trial.accelerometer_lag_seconds.value_or(0.0), 0.1002, 1.0e-4) << "the filter's own time and the sensor's";
}

}  // namespace
}  // namespace coldstroke::daq
