// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/setup.hpp"

#include <gmock/gmock.h>

#include <algorithm>
#include <cctype>
#include <cstddef>
#include <filesystem>
#include <fstream>
#include <sstream>

namespace coldstroke::daq {
namespace {

using analysis::Role;
using testing::AllOf;
using testing::AnyOf;
using testing::HasSubstr;
using testing::Not;

/// The virtual rig's setup with the first `from` replaced by `to`.
std::string changed(const std::string& from, const std::string& to) {
  std::string text{virtual_setup_text()};
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  if (at != std::string::npos) text.replace(at, from.size(), to);
  return text;
}

std::size_t line_of(const std::string& text, const std::string& what) {
  const auto at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  return 1 + static_cast<std::size_t>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
}

/// what, where and remedy in one text.
std::string complaint_about(const std::string& text) {
  const auto setup = parse_setup(text, "bench.toml");
  EXPECT_FALSE(setup) << text.substr(0, 200);
  return setup ? "" : setup.error().what + "\n" + setup.error().where + "\n" + setup.error().remedy;
}

TEST(VirtualSetup, is_complete_and_matches_the_virtual_rig) {
  const auto parsed = parse_setup(virtual_setup_text(), "virtual");
  ASSERT_TRUE(parsed) << parsed.error().what;
  const auto& setup = *parsed;  // inside a test "Setup" is a trap name of GoogleTest
  EXPECT_EQ(setup.text, virtual_setup_text());
  EXPECT_EQ(setup.rig_port.baud, 3'000'000);
  EXPECT_EQ(setup.flight_port.baud, 921'600);
  EXPECT_DOUBLE_EQ(setup.trial.bore_metres, 0.040);
  EXPECT_DOUBLE_EQ(setup.trial.stroke_metres, 0.300);
  EXPECT_DOUBLE_EQ(setup.trial.vehicle_mass_kg, 1.5);
  EXPECT_DOUBLE_EQ(setup.trial.moving_rig_mass_kg, 0.1);
  EXPECT_DOUBLE_EQ(setup.reservoir_volume_m3, 0.75e-3);
  EXPECT_DOUBLE_EQ(setup.charge.target_pascals, 8e5);
  EXPECT_DOUBLE_EQ(setup.charge.maximum_pascals, 9e5);
  EXPECT_DOUBLE_EQ(setup.charge.steady_pascals_per_second, 2000.0);
  EXPECT_DOUBLE_EQ(setup.sequence.open_seconds, 0.15);
  EXPECT_DOUBLE_EQ(setup.trial.decision_deadline_seconds, 0.06);
  EXPECT_DOUBLE_EQ(setup.trial.igniter_delay_seconds.value(), 0.060);
  ASSERT_TRUE(setup.trial.coast && setup.trial.ignition_window && setup.trial.tip_off && setup.fast_valves);
  EXPECT_NEAR(setup.trial.coast->drag_area_m2, 0.6 * 0.25 * 3.14159265 * 0.075 * 0.075, 1e-9);
  EXPECT_NEAR(setup.trial.coast->air_density_kg_per_m3, 1.225, 1e-5);
  EXPECT_DOUBLE_EQ(setup.trial.ignition_window->igniter.mean_seconds, 0.060);
  EXPECT_DOUBLE_EQ(setup.trial.ignition_window->build_up.standard_deviation_seconds, 0.025);
  EXPECT_DOUBLE_EQ(setup.trial.tip_off->wall_contact_mps2, 5.0 * 9.80665);
  EXPECT_EQ(setup.fast_valves->count, 2);
  EXPECT_DOUBLE_EQ(setup.fast_valves->dead_volume_m3, 30.0e-6);
  EXPECT_FALSE(setup.trial.firing);
  EXPECT_EQ(setup.firing_channels.size(), 2U);
  EXPECT_EQ(setup.weakest_part().name, "reservoir");
  EXPECT_DOUBLE_EQ(setup.vent.conductance_m3_per_s_pa, 1.0e-8);
  EXPECT_EQ(setup.checklist, default_checklist());
  EXPECT_EQ(setup.charge_valves, ChargeValves::driven);
  ASSERT_EQ(setup.channels.size(), 7U);
  const ChannelSetup* force = setup.channel(Role::force);
  ASSERT_NE(force, nullptr);
  EXPECT_DOUBLE_EQ(force->calibration.scale, 2000.0 / 8388608.0);
  const ChannelSetup* supply = setup.channel(Role::supply_pressure);
  ASSERT_NE(supply, nullptr);
  EXPECT_DOUBLE_EQ(supply->calibration.scale, 16e5 / 8388608.0);
  EXPECT_DOUBLE_EQ(supply->calibration.zero_standard_uncertainty, 500.0);
  EXPECT_DOUBLE_EQ(supply->range_high, 16e5);
  const ChannelSetup* acceleration = setup.channel(Role::vehicle_acceleration);
  ASSERT_NE(acceleration, nullptr);
  EXPECT_EQ(acceleration->node, Node::flight);
  EXPECT_EQ(acceleration->index, 2);
  EXPECT_DOUBLE_EQ(acceleration->calibration.scale, 100 * 9.80665 / 32768.0);
  ASSERT_EQ(setup.trial.criteria.size(), 9U);
  EXPECT_EQ(setup.trial.criteria[1].upper, 65.0);
  EXPECT_DOUBLE_EQ(setup.trial.criteria[3].upper.value(), 4.5e5);
  EXPECT_DOUBLE_EQ(setup.trial.criteria[5].upper.value(), 0.040);
  EXPECT_DOUBLE_EQ(setup.trial.criteria[8].upper.value(), 0.0005);
  EXPECT_EQ(setup.channel(Role::other), nullptr);
}

TEST(VirtualSetup, is_the_file_in_the_source_tree) {
  std::ifstream file{COLDSTROKE_SOURCE_DIR "/daq/setup/virtual_rig.toml"};
  std::stringstream text;
  text << file.rdbuf();
  EXPECT_EQ(virtual_setup_text(), text.str());
}

/// Whoever adds a key must explain it.
TEST(SetupDocument, explains_every_key_of_the_virtual_setup) {
  std::ifstream file{COLDSTROKE_SOURCE_DIR "/docs/setup.md"};
  std::stringstream document;
  document << file.rdbuf();
  std::istringstream lines{std::string{virtual_setup_text()}};
  int keys = 0;
  for (std::string line; std::getline(lines, line);) {
    const auto equals = line.find(" = ");
    if (line.starts_with('#') || equals == std::string::npos) continue;
    EXPECT_THAT(document.str(), HasSubstr("`" + line.substr(0, equals) + "`"));
    ++keys;
  }
  EXPECT_GT(keys, 100);
}

struct BadValue {
  const char* from;
  const char* to;
  const char* key;                // named by the complaint
  const char* allowed;            // part of what it says is allowed
  std::size_t lines_further = 0;  // where the key stands, counted from the change
};

/// Shown as the test's name: letters, digits and codes of all else, so that every tool can print it and no two are alike.
std::string name_of(const std::string& text) {
  std::string name;
  for (const char c : text) {
    const auto code = static_cast<unsigned char>(c);
    name += std::isalnum(code) != 0 ? std::string{c} : c == ' ' ? "_" : "." + std::to_string(code) + ".";
  }
  return name;
}
void PrintTo(const BadValue& bad, std::ostream* out) { *out << name_of(std::string{bad.key} + "_" + bad.to); }

TEST(SetupSafety, the_charge_target_has_no_default) {
  EXPECT_THAT(complaint_about(changed("target_bar = 8.0\n", "")),
              AllOf(HasSubstr("charge.target_bar"), HasSubstr("is missing"), HasSubstr("above 0")));
}

TEST(SetupSafety, a_gauge_that_ends_below_the_maximum_is_refused) {
  EXPECT_THAT(complaint_about(changed("range_high = 16.0", "range_high = 9.0")),
              AllOf(HasSubstr("charge.maximum_bar"), HasSubstr("inside the range")));
}

TEST(SetupSafety, a_bottle_is_told_whole_or_not_at_all) {
  EXPECT_THAT(complaint_about(changed("supply_volume_litres = 3.0", "")),
              AllOf(HasSubstr("key keep_out"), HasSubstr("both or neither")));
}

TEST(SetupSafety, without_a_checklist_the_nine_defaults_are_signed_and_without_a_lid_there_is_none) {
  const std::string text{virtual_setup_text()};
  const auto lid = text.find("[lid]"), parts = text.find("[[pressure_part]]"), list = text.find("[checklist]"),
             declared = text.find("[declared]");
  const auto parsed = parse_setup(text.substr(0, lid) + text.substr(parts, list - parts) + text.substr(declared), "bench.toml");
  ASSERT_TRUE(parsed) << parsed.error().what;
  EXPECT_FALSE(parsed->lid);
  EXPECT_EQ(parsed->checklist, default_checklist());
  EXPECT_EQ(parsed->checklist.items.size(), 9U);
}

class SetupBadValue : public testing::TestWithParam<BadValue> {};

TEST_P(SetupBadValue, is_refused_with_line_key_and_what_is_allowed) {
  const BadValue& bad = GetParam();
  const std::string text = changed(bad.from, bad.to);
  const std::string complaint = complaint_about(text);
  const std::string where = "bench.toml, line " +
                            std::to_string(line_of(std::string{virtual_setup_text()}, bad.from) + bad.lines_further) + ", key " +
                            bad.key;
  EXPECT_THAT(complaint, AnyOf(HasSubstr(where + "\n"), HasSubstr(where + ":")));
  EXPECT_THAT(complaint, HasSubstr(bad.allowed));
}

INSTANTIATE_TEST_SUITE_P(
    all, SetupBadValue,
    testing::Values(
        BadValue{"mass_kg = 1.500", "mass_kg = -1.500", "vehicle.mass_kg", "above 0"},
        BadValue{"mass_kg = 1.500", "mass_kg = 0", "vehicle.mass_kg", "above 0"},
        BadValue{"mass_kg = 1.500", "mass_kg = nan", "vehicle.mass_kg", "above 0"},
        BadValue{"mass_kg = 1.500", "mass_kg = inf", "vehicle.mass_kg", "to 1000"},
        BadValue{"mass_kg = 1.500", "mass_kg = \"1.5\"", "vehicle.mass_kg", "a number"},
        BadValue{"mass_kg = 1.500", "mass_kg = true", "vehicle.mass_kg", "a number"},
        BadValue{"mass_kg = 1.500", "mass_kg = [1.5]", "vehicle.mass_kg", "a number"},
        BadValue{"mass_standard_uncertainty_kg = 0.001", "mass_standard_uncertainty_kg = 1.5",
                 "vehicle.mass_standard_uncertainty_kg", "below mass_kg"},
        BadValue{"moving_mass_kg = 0.100", "moving_mass_kg = -0.100", "rig.moving_mass_kg", "above 0"},
        BadValue{"bore_metres = 0.040", "bore_metres = 40", "rig.bore_metres", "to 1"},
        BadValue{"tilt_degrees = 0.0", "tilt_degrees = 91", "rig.tilt_degrees", "0 to 90"},
        BadValue{"force_cell = \"reaction\"", "force_cell = \"reacton\"", "rig.force_cell", "reaction, in_line"},
        BadValue{"target_bar = 8.0", "target_barr = 8.0", "charge.target_barr", "target_bar"},
        BadValue{"low_bar = 7.8", "low_bar = 8.1", "charge.low_bar", "at most target_bar"},
        BadValue{"high_bar = 8.2", "high_bar = 7.9", "charge.high_bar", "at least target_bar"},
        BadValue{"maximum_bar = 9.0", "maximum_bar = 8.1", "charge.maximum_bar", "at least high_bar"},
        BadValue{"maximum_bar = 9.0", "maximum_bar = 12.5", "charge.maximum_bar", "the rating of \"reservoir\""},
        BadValue{"relief_bar = 11.0 ", "relief_bar = 12.5 ", "charge.relief_bar", "the lowest of all parts"},
        BadValue{"target_bar = 8.0", "target_bar = 10.0", "charge.target_bar", "0.9 times relief_bar"},
        BadValue{"limit_bar = 14.0", "limit_bar = 0.0", "pressure_part[3].limit_bar", "above 0"},
        BadValue{"name = \"reservoir\"", "name = \"tank and regulator outlet\"", "pressure_part[2].name", "used once"},
        BadValue{"valves = \"driven\"", "valves = \"robot\"", "rig.valves", "driven, hand"},
        BadValue{"vent_conductance_dm3_per_s_bar = 1.0", "vent_conductance_dm3_per_s_bar = 0",
                 "rig.vent_conductance_dm3_per_s_bar", "above 0"},
        BadValue{"scaled_distance = 20.0", "scaled_distance = 12.0", "keep_out.scaled_distance", "20 to"},
        BadValue{"roles = [\"operator\", \"range officer\"]", "roles = [\"operator\"]", "checklist.roles", "2 to 5"},
        BadValue{"roles = [\"operator\", \"range officer\"]", "roles = [\"operator\", \"operator\"]", "checklist.roles",
                 "used once"},
        BadValue{"rig_firmware = \"rig-reference 1.0.0\"", "rig_firmware = 1", "declared.rig_firmware", "a text"},
        BadValue{"rest_low = -5.0", "rest_low = 5.0", "channel[1].rest_high", "above rest_low", 1},
        BadValue{"link = \"cable\"", "link = \"radio\"", "flight.link", "cable, records_by_itself"},
        BadValue{"shut_after_milliseconds = 1500", "shut_after_milliseconds = -1", "lid.shut_after_milliseconds", "0 to"},
        BadValue{"open_milliseconds = 150", "open_milliseconds = 501", "sequence.open_milliseconds", "to 500"},
        BadValue{"open_milliseconds = 150", "open_milliseconds = 0", "sequence.open_milliseconds", "above 0"},
        BadValue{"vented_below_bar = 0.2", "vented_below_bar = 7.9", "sequence.vented_below_bar", "well below"},
        BadValue{"record_before_seconds = 0.5", "record_before_seconds = 11", "sequence.record_before_seconds",
                 "history_seconds"},
        BadValue{"rig_baud = 3000000", "rig_baud = 0", "ports.rig_baud", "from 1200"},
        BadValue{"rig_baud = 3000000", "rig_baud = -9600", "ports.rig_baud", "from 1200"},
        BadValue{"rig_baud = 3000000", "rig_baud = 9600.5", "ports.rig_baud", "whole number"},
        BadValue{"rig_baud = 3000000", "rig_baud = 9223372036854775807", "ports.rig_baud", "whole number"},
        BadValue{"ends_in = \"open\"", "ends_in = \"igniter\"", "flight.firing_channel[1].ends_in", "open, dummy_load"},
        BadValue{"ends_in = \"open\"", "ohms = 2.0\nends_in = \"open\"", "flight.firing_channel[1].ohms", "ends_in"},
        BadValue{"name = \"supply\"", "name = \"force\"#", "channel[2].name", "used once"},
        BadValue{"role = \"chamber_pressure\"", "role = \"supply_pressure\"#", "channel[3].role", "one channel a role"},
        BadValue{"role = \"chamber_pressure\"", "role = \"dummy_load_current\"#", "channel[3].role", "measured by this quantity"},
        BadValue{"index = 3", "index = 1#", "channel[4].index", "each channel of a stream once"},
        BadValue{"index = 3", "index = 8", "channel[4].index", "0 to 7"},
        BadValue{"range_low = -2000.0", "range_low = 2000.0", "channel[1].range_high", "above range_low", 1},
        BadValue{"unit = \"N\" ", "unit = \"bar\" ", "channel[1].unit", "N, kN, kgf, lbf"},
        BadValue{"scale_per_count = 2.384185791015625e-4", "scale_per_count = 0.0", "channel[1].calibration.scale_per_count",
                 "any number but 0"},
        BadValue{"gain_standard_uncertainty = 0.003", "gain_standard_uncertainty = -0.003",
                 "channel[1].calibration.gain_standard_uncertainty", "0 to 1"},
        BadValue{"valid_until = \"2099-12-31\"", "valid_until = \"2026-02-30\"", "channel[1].calibration.valid_until",
                 "ISO 8601"},
        BadValue{"valid_until = \"2099-12-31\"", "valid_until = \"30.06.2026\"", "channel[1].calibration.valid_until",
                 "ISO 8601"},
        BadValue{"metric = \"droop_pascals\"", "metric = \"droop_pascal\"", "criterion[4].metric", "droop_pascals"},
        BadValue{"unit = \"N s\"", "unit = \"N m\"", "criterion[1].unit", "N s, lbf s"},
        BadValue{"lower = 19.5", "lower = 24.5", "criterion[1].lower", "at most upper"},
        BadValue{
            "[[criterion]]\nname = \"peak acceleration\"\nkind = \"metric\"\nmetric = \"peak_acceleration_g\"\nunit = "
            "\"g\"\nupper = 65.0",
            "[[criterion]]\nname = \"peak acceleration\"\nkind = \"metric\"\nmetric = \"peak_acceleration_g\"\nunit = \"g\"\n",
            "criterion[2]", "lower = NUMBER"},
        BadValue{"kind = \"detector_in_time\"", "kind = \"detector_in_time\"\nupper = 3", "criterion[5].upper", "here name, kind",
                 1},
        BadValue{"name = \"exit speed\"", "name = \"peak acceleration\"#", "criterion[3].name", "used once"},
        BadValue{"name = \"Juniper\"", "name = \"\"", "vehicle.name", "at least one character"},
        BadValue{"name = \"Juniper\"", "name = \"a\\nb\"", "vehicle.name", "one line"}));

TEST(Setup, a_slip_of_the_finger_is_recognised) {
  EXPECT_THAT(complaint_about(changed("target_bar = 8.0", "target_baar = 8.0")), HasSubstr("did you mean target_bar?"));
  EXPECT_THAT(complaint_about(changed("[sequence]", "[sequense]")), HasSubstr("did you mean sequence?"));
  EXPECT_THAT(complaint_about(changed("\"droop_pascals\"", "\"drop_pascals\"")), HasSubstr("did you mean droop_pascals?"));
  EXPECT_THAT(complaint_about(changed("target_bar = 8.0", "target_bar = 8.0\nzzzzzzzzzzzzzzz = 1")),
              Not(HasSubstr("did you mean")));
}

TEST(Setup, every_problem_is_reported_at_once) {
  std::string text = changed("mass_kg = 1.500", "mass_kg = -1.5");
  const auto replace = [&](const std::string& from, const std::string& to) { text.replace(text.find(from), from.size(), to); };
  replace("stroke_metres = 0.300", "stroke_metres = \"long\"");
  replace("open_milliseconds = 150", "open_milliseconds = 900");
  replace("role = \"supply_pressure\"", "role = \"supply\"");
  const std::string complaint = complaint_about(text);
  EXPECT_THAT(complaint, AllOf(HasSubstr("vehicle.mass_kg"), HasSubstr("rig.stroke_metres"),
                               HasSubstr("sequence.open_milliseconds"), HasSubstr("channel[2].role")));
  EXPECT_THAT(complaint, HasSubstr("4 problems"));
}

TEST(Setup, the_charge_target_has_no_default) {
  EXPECT_THAT(complaint_about(changed("target_bar = 8.0", "")),
              AllOf(HasSubstr("key charge.target_bar"), HasSubstr("is missing")));
}

TEST(Setup, a_missing_table_is_one_problem_and_not_one_a_key) {
  const std::string text{virtual_setup_text()};
  const auto begin = text.find("[vehicle]");
  const std::string without = text.substr(0, begin) + text.substr(text.find("[charge]"));
  const std::string complaint = complaint_about(without);
  EXPECT_THAT(complaint, AllOf(HasSubstr("key vehicle"), HasSubstr("is missing"), Not(HasSubstr("mass_kg"))));
}

TEST(Setup, a_trial_that_nothing_is_asked_of_is_refused) {
  const std::string text{virtual_setup_text()};
  EXPECT_THAT(complaint_about(text.substr(0, text.find("[[criterion]]"))), HasSubstr("key criterion"));
}

TEST(Setup, optional_keys_have_their_documented_defaults) {
  std::string text{virtual_setup_text()};
  for (const char* key : {"purpose", "rig =", "rig_baud", "rig_line", "rig_asym", "flight =", "flight_baud", "flight_line",
                          "flight_asym", "link_fresh", "force_cell_natural", "reference"}) {
    for (auto at = text.find("\n" + std::string{key}); at != std::string::npos; at = text.find("\n" + std::string{key})) {
      text.erase(at, text.find('\n', at + 1) - at);
    }
  }
  const auto setup = parse_setup(text, "short");
  ASSERT_TRUE(setup) << setup.error().what;
  EXPECT_EQ(setup->purpose, "");
  EXPECT_EQ(setup->rig_port, (PortSetup{"", 3'000'000}));
  EXPECT_EQ(setup->flight_port, (PortSetup{"", 921'600}));
  EXPECT_EQ(setup->link_fresh_seconds, 0.5);
  EXPECT_EQ(setup->trial.force_cell_natural_frequency_hz, 0.0);
  EXPECT_EQ(setup->trial.front_hardware_mass_kg, 0.0);
  EXPECT_EQ(setup->channels[0].calibration.reference, "");
}

TEST(Setup, a_dummy_load_carries_its_resistance) {
  const auto setup = parse_setup(changed("ends_in = \"open\"", "ends_in = \"dummy_load\"\nohms = 2.0"), "bench.toml");
  ASSERT_TRUE(setup) << setup.error().what;
  EXPECT_EQ(setup->firing_channels[0], (FiringChannel{true, 2.0}));
  EXPECT_THAT(complaint_about(changed("ends_in = \"open\"", "ends_in = \"dummy_load\"")),
              HasSubstr("flight.firing_channel[1].ohms"));
}

std::string with_igniter(const std::string& igniter) {
  return changed("ends_in = \"open\"", "ends_in = \"dummy_load\"\nohms = 2.0") + "\n[igniter]\nall_fire_amperes = 1.0\n" +
         "hold_milliseconds = 20\nbridge_time_constant_milliseconds = 15\nbridge_ohms = 1.6\n" + igniter;
}

TEST(Setup, an_igniter_is_judged_by_the_registered_dummy_load) {
  const auto setup =
      parse_setup(with_igniter("bridge_threshold_amperes = 0.32\nsupply_volts = 8.0\nloop_ohms_high = 4.0\n"), "x");
  ASSERT_TRUE(setup) << setup.error().what;
  ASSERT_TRUE(setup->trial.firing.has_value());
  EXPECT_EQ(setup->trial.firing->dummy_ohms, 2.0);
  EXPECT_EQ(setup->trial.firing->margin, 1.5);
  EXPECT_DOUBLE_EQ(setup->trial.firing->hold_seconds, 0.020);
  EXPECT_THAT(complaint_about(with_igniter("bridge_threshold_amperes = 1.5\n")), HasSubstr("igniter.bridge_threshold_amperes"));
  EXPECT_THAT(complaint_about(with_igniter("bridge_threshold_amperes = 0.3\nloop_ohms_high = 4.0\n")),
              HasSubstr("igniter.loop_ohms_high"));
  const std::string open_channel = with_igniter("bridge_threshold_amperes = 0.3\n");
  std::string without = open_channel;
  without.replace(without.find("ends_in = \"dummy_load\"\nohms = 2.0"), 33, "ends_in = \"open\"");
  EXPECT_THAT(complaint_about(without), AllOf(HasSubstr("key igniter"), HasSubstr("dummy_load")));
}

TEST(Setup, what_comes_after_the_tube_may_be_left_out_but_not_half) {
  std::string text{virtual_setup_text()};
  const auto begin = text.find("[coast]"), end = text.find("# Rig board, stream 1");
  ASSERT_LT(begin, end);
  const auto none = parse_setup(text.substr(0, begin) + text.substr(end), "x");
  ASSERT_TRUE(none) << none.error().what;
  EXPECT_FALSE(none->trial.coast || none->trial.ignition_window || none->trial.tip_off || none->fast_valves);
  EXPECT_THAT(complaint_about(changed("least_speed_mps = 5.0", "")), HasSubstr("ignition_window.least_speed_mps"));
  EXPECT_THAT(complaint_about(changed("igniter_delay_milliseconds = 60", "")), HasSubstr("flight.igniter_delay_milliseconds"));
  EXPECT_THAT(
      complaint_about(changed("build_up_standard_deviation_milliseconds = 25", "build_up_standard_deviation_milliseconds = 200")),
      HasSubstr("ignition_window.build_up_standard_deviation_milliseconds"));
  EXPECT_THAT(complaint_about(changed("opening_milliseconds = 12", "opening_milliseconds = 0")),
              HasSubstr("fast_valves.opening_milliseconds"));
}

TEST(Setup, the_same_port_twice_is_refused) {
  std::string text = changed("rig = \"\"", "rig = \"/dev/ttyACM0\"");
  text.replace(text.find("flight = \"\""), 11, "flight = \"/dev/ttyACM0\"");
  EXPECT_THAT(complaint_about(text), HasSubstr("ports.flight"));
}

TEST(Setup, text_that_is_not_toml_is_refused_with_its_place) {
  EXPECT_THAT(complaint_about("[campaign]\nname = \"x\nrest"), AllOf(HasSubstr("not TOML"), HasSubstr("line 2")));
  EXPECT_THAT(complaint_about(changed("target_bar = 8.0", "target_bar = 8.0\ntarget_bar = 9.0")), HasSubstr("not TOML"));
  EXPECT_THAT(complaint_about(std::string("SQLite format 3\0\x01\xFF", 18)), HasSubstr("not TOML"));
  EXPECT_THAT(complaint_about(std::string(5000, '[')), HasSubstr("not TOML"));
  EXPECT_THAT(complaint_about(""), HasSubstr("key campaign"));
}

TEST(Setup, a_text_cut_anywhere_never_crashes_and_never_passes_in_the_middle_of_a_table) {
  const std::string text{virtual_setup_text()};
  const auto last_table = text.rfind("[[criterion]]");
  std::size_t refused = 0;
  for (std::size_t length = 0; length < last_table; length += 7) {
    const auto setup = parse_setup(text.substr(0, length), "cut");
    if (!setup) ++refused;
  }
  EXPECT_GT(refused, last_table / 7 * 3 / 4);  // only whole criteria may be cut off unseen
}

TEST(LoadSetup, names_the_file_that_is_not_there) {
  const auto missing = load_setup("/nonexistent/bench.toml");
  ASSERT_FALSE(missing);
  EXPECT_EQ(missing.error().where, "/nonexistent/bench.toml");
  EXPECT_THAT(missing.error().what, HasSubstr("No such file"));
  const auto folder = load_setup(std::filesystem::temp_directory_path());
  ASSERT_FALSE(folder);
  EXPECT_THAT(folder.error().what, HasSubstr("folder"));
}

TEST(LoadSetup, reads_the_exact_text) {
  const auto setup = load_setup(COLDSTROKE_SOURCE_DIR "/daq/setup/virtual_rig.toml");
  ASSERT_TRUE(setup) << setup.error().what;
  EXPECT_EQ(setup->text, virtual_setup_text());
}

}  // namespace
}  // namespace coldstroke::daq
