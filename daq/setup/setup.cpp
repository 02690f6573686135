// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/setup.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>
#include <numbers>

#include "daq/setup/parse_parts.hpp"
#include "daq/setup/table_reader.hpp"

namespace coldstroke::daq {
namespace {

constexpr double kPascalsPerBar = 1e5;
constexpr std::uintmax_t kFileLimitBytes = 4'000'000;  // a setup is a few kilobytes; anything else is the wrong file

void parse_campaign(TableReader table, Setup& setup) {
  setup.campaign_name = table.text("name");
  setup.purpose = table.text("purpose", "");
  table.refuse_unknown();
}

PortSetup parse_port(TableReader& table, const std::string& board, int usual_baud) {
  PortSetup port;
  port.name = table.text(board, "");
  port.baud = table.whole(board + "_baud", 1200, 20'000'000, usual_baud);
  if (table.has(board + "_line"))
    port.uart = table.choice<bool>(board + "_line", {{"uart", true}, {"usb", false}}).value_or(false);
  const std::string asymmetry = board + "_asymmetry_standard_uncertainty_milliseconds";
  if (table.has(asymmetry)) port.asymmetry_standard_uncertainty_seconds = table.number(asymmetry, {0.0, 100.0}) / 1000.0;
  return port;
}

void parse_ports(TableReader table, Setup& setup) {
  setup.rig_port = parse_port(table, "rig", 3'000'000);
  setup.flight_port = parse_port(table, "flight", 921'600);
  setup.link_fresh_seconds = table.number("link_fresh_milliseconds", {50.0, 5000.0}, 500.0) / 1000.0;
  setup.alignment_limit_seconds = table.number("alignment_limit_milliseconds", {0.0, 1000.0, true}) / 1000.0;
  if (!setup.rig_port.name.empty() && setup.rig_port.name == setup.flight_port.name) {
    table.complain("flight", "is the same port as rig", "one port a board");
  }
  table.refuse_unknown();
}

void parse_rig(TableReader table, Setup& setup) {
  analysis::TrialSetup& trial = setup.trial;
  setup.rig_name = table.text("name");
  setup.calibration_file = table.text("calibration_file", "");
  trial.bore_metres = table.number("bore_metres", {0.0, 1.0, true});
  trial.stroke_metres = table.number("stroke_metres", {0.0, 20.0, true});
  trial.stroke_standard_uncertainty_metres = table.number("stroke_standard_uncertainty_metres", {0.0, 1.0});
  trial.tilt_radians = table.number("tilt_degrees", {0.0, 90.0}) * std::numbers::pi / 180.0;
  setup.reservoir_volume_m3 = table.number("reservoir_volume_litres", {0.0, 1000.0, true}) / 1000.0;
  trial.reservoir_volume_m3 = setup.reservoir_volume_m3;
  trial.landing_height_metres = table.optional_number("landing_height_metres", {-100.0, 100.0});
  if (trial.landing_height_metres)
    trial.landing_height_standard_uncertainty_metres = table.number("landing_height_standard_uncertainty_metres", {0.0, 100.0});
  if (table.has("valves"))
    setup.charge_valves = table.choice<ChargeValves>("valves", {{"driven", ChargeValves::driven}, {"hand", ChargeValves::hand}})
                              .value_or(ChargeValves::driven);
  constexpr double kCubicMetresPerSecondPascal = 1.0e-8;  // in a dm3/(s bar)
  setup.vent.conductance_m3_per_s_pa =
      table.number("vent_conductance_dm3_per_s_bar", {0.0, 1000.0, true}) * kCubicMetresPerSecondPascal;
  setup.vent.critical_ratio = table.number("vent_critical_ratio", {0.0, 0.9});
  trial.moving_rig_mass_kg = table.number("moving_mass_kg", {0.0, 1000.0, true});
  trial.moving_rig_mass_standard_uncertainty_kg = table.number("moving_mass_standard_uncertainty_kg", {0.0, 100.0});
  trial.front_hardware_mass_kg = table.number("front_hardware_mass_kg", {0.0, 1000.0}, 0.0);
  trial.force_cell = table
                         .choice<analysis::ForceCell>("force_cell", {{"reaction", analysis::ForceCell::reaction},
                                                                     {"in_line", analysis::ForceCell::in_line}})
                         .value_or(analysis::ForceCell::reaction);
  trial.force_tare = table
                         .choice<analysis::ForceTare>("force_tare", {{"vehicle_seated", analysis::ForceTare::vehicle_seated},
                                                                     {"empty", analysis::ForceTare::empty}})
                         .value_or(analysis::ForceTare::vehicle_seated);
  trial.force_cell_natural_frequency_hz = table.number("force_cell_natural_frequency_hz", {0.0, 1e6}, 0.0);
  if (trial.stroke_standard_uncertainty_metres >= trial.stroke_metres) {
    table.complain("stroke_standard_uncertainty_metres", "is not below the stroke itself", "a number below stroke_metres");
  }
  table.refuse_unknown();
}

void parse_vehicle(TableReader table, Setup& setup) {
  setup.vehicle_name = table.text("name");
  setup.trial.vehicle_mass_kg = table.number("mass_kg", {0.0, 1000.0, true});
  setup.trial.vehicle_mass_standard_uncertainty_kg = table.number("mass_standard_uncertainty_kg", {0.0, 100.0});
  if (setup.trial.vehicle_mass_standard_uncertainty_kg >= setup.trial.vehicle_mass_kg) {
    table.complain("mass_standard_uncertainty_kg", "is not below the mass itself", "a number below mass_kg");
  }
  table.refuse_unknown();
}

void parse_charge(TableReader table, ChargeSetup& charge) {
  const Bounds pressure{0.0, 300.0, true};
  charge.target_pascals = table.number("target_bar", pressure) * kPascalsPerBar;
  charge.low_pascals = table.number("low_bar", pressure) * kPascalsPerBar;
  charge.high_pascals = table.number("high_bar", pressure) * kPascalsPerBar;
  charge.maximum_pascals = table.number("maximum_bar", pressure) * kPascalsPerBar;
  charge.relief_pascals = table.number("relief_bar", pressure) * kPascalsPerBar;
  charge.settle_seconds = table.number("settle_seconds", {0.0, 600.0});
  charge.steady_pascals_per_second = table.number("steady_bar_per_second", {0.0, 10.0, true}) * kPascalsPerBar;
  if (charge.low_pascals > charge.target_pascals) table.complain("low_bar", "is above target_bar", "low_bar at most target_bar");
  if (charge.high_pascals < charge.target_pascals)
    table.complain("high_bar", "is below target_bar", "high_bar at least target_bar");
  if (charge.low_pascals > charge.high_pascals) table.complain("low_bar", "is above high_bar", "low_bar at most high_bar");
  if (charge.maximum_pascals < charge.high_pascals) {
    table.complain("maximum_bar", "is below high_bar", "maximum_bar at least high_bar");
  }
  if (charge.target_pascals > 0.9 * charge.relief_pascals) {
    table.complain("target_bar", "is above 90 % of relief_bar", "at most 0.9 times relief_bar");
  }
  table.refuse_unknown();
}

void parse_sequence(TableReader table, Setup& setup) {
  SequenceSetup& sequence = setup.sequence;
  sequence.countdown_seconds = table.number("countdown_seconds", {0.0, 600.0});
  sequence.open_seconds = table.number("open_milliseconds", {0.0, 500.0, true}) / 1000.0;
  sequence.hang_seconds = table.number("hang_milliseconds", {0.0, 10000.0, true}) / 1000.0;
  sequence.keep_clear_seconds = table.number("keep_clear_seconds", {0.0, 7200.0});
  sequence.vented_below_pascals = table.number("vented_below_bar", {0.0, 10.0, true}) * kPascalsPerBar;
  sequence.vent_limit_seconds = table.number("vent_limit_seconds", {0.0, 3600.0, true});
  sequence.charge_limit_seconds = table.number("charge_limit_seconds", {0.0, 3600.0, true});
  sequence.record_before_seconds = table.number("record_before_seconds", {0.05, 60.0});
  sequence.record_after_seconds = table.number("record_after_seconds", {0.1, 600.0});
  sequence.readback_limit_seconds = table.number("readback_limit_seconds", {0.0, 3600.0});
  sequence.history_seconds = table.number("history_seconds", {0.1, 600.0});
  if (sequence.vented_below_pascals >= setup.charge.low_pascals) {
    table.complain("vented_below_bar", "is not below charge.low_bar", "a pressure well below the charge window");
  }
  if (sequence.record_before_seconds > sequence.history_seconds) {
    table.complain("record_before_seconds", "is longer than history_seconds", "at most history_seconds");
  }
  table.refuse_unknown();
}

void parse_flight(TableReader table, Setup& setup) {
  setup.trial.decision_deadline_seconds = table.number("decision_deadline_milliseconds", {0.0, 600000.0, true}) / 1000.0;
  if (const auto delay = table.optional_number("igniter_delay_milliseconds", {0.0, 60000.0})) {
    setup.trial.igniter_delay_seconds = *delay / 1000.0;
  }
  if (const auto lag = table.optional_number("accelerometer_lag_milliseconds", {0.0, 1000.0})) {
    setup.trial.accelerometer_lag_seconds = *lag / 1000.0;
    setup.trial.accelerometer_lag_standard_uncertainty_seconds =
        table.number("accelerometer_lag_standard_uncertainty_milliseconds", {0.0, 100.0}) / 1000.0;
  }
  if (table.has("link"))
    setup.flight_records_by_itself = table.choice<bool>("link", {{"cable", false}, {"records_by_itself", true}}).value_or(false);
  for (TableReader& channel : table.tables("firing_channel", 1, 8)) {
    FiringChannel firing;
    firing.dummy_load = channel.choice<bool>("ends_in", {{"open", false}, {"dummy_load", true}}).value_or(false);
    if (firing.dummy_load) firing.ohms = channel.number("ohms", {0.0, 10000.0, true});
    channel.refuse_unknown();
    setup.firing_channels.push_back(firing);
  }
  table.refuse_unknown();
}

void check_across(TableReader& root, const Setup& setup) {
  const ChannelSetup* supply = setup.channel(analysis::Role::supply_pressure);
  if (supply != nullptr && setup.charge.maximum_pascals >= supply->range_high) {
    // A gauge that ends below the limit cannot show that the limit is passed.
    root.table("charge").complain("maximum_bar", "is not below the end of the range of channel \"" + supply->name + "\"",
                                  "a pressure inside the range of the supply pressure channel");
  }
}

}  // namespace

const char* word(Node node) { return node == Node::rig ? "rig board" : "flight board"; }

const ChannelSetup* Setup::channel(analysis::Role role) const {
  const auto found = std::ranges::find(channels, role, &ChannelSetup::role);
  return role == analysis::Role::other || found == channels.end() ? nullptr : &*found;
}

Result<std::size_t> Setup::channel_index(const std::string& name) const {
  const auto found = std::ranges::find(channels, name, &ChannelSetup::name);
  if (found == channels.end())
    return complain("There is no channel '" + name + "'.", source, "The channels are " + channel_names(channels) + ".");
  return static_cast<std::size_t>(found - channels.begin());
}

std::string channel_names(const std::vector<ChannelSetup>& channels) {
  std::string names;
  for (const ChannelSetup& channel : channels) names += (names.empty() ? "" : ", ") + channel.name;
  return names;
}

namespace {

constexpr const char *kKind = "setup", *kExplained = "docs/setup.md", *kShown = "docs/setup.md shows a complete one";

/// A calibration file's text, behind the setup's own.
struct Appended {
  std::string text, source;
};

std::string joined_text(std::string own, const std::string& appended) {
  if (!own.ends_with('\n')) own += '\n';
  return own + appended;
}

unsigned lines_in(std::string_view text) { return static_cast<unsigned>(std::ranges::count(text, '\n')); }

Result<Setup> parse(std::string_view own, const std::string& source, const std::optional<Appended>& appended) {
  Problems problems{source, kKind, kExplained};
  std::string text{own};
  if (appended) {
    text = joined_text(std::move(text), {});
    problems.appended(lines_in(text) + 1, appended->source);
    text += appended->text;
  }
  const auto document = parse_document(text, problems, kShown);
  if (!document) return tl::unexpected{document.error()};
  TableReader root{&*document, "", problems};
  Setup setup;
  setup.text = std::move(text);
  setup.source = source;
  parse_campaign(root.table("campaign"), setup);
  parse_ports(root.table("ports"), setup);
  parse_rig(root.table("rig"), setup);
  parse_vehicle(root.table("vehicle"), setup);
  parse_charge(root.table("charge"), setup.charge);
  parse_sequence(root.table("sequence"), setup);
  parse_flight(root.table("flight"), setup);
  parse_after_tube(root, setup);
  parse_safety(root, setup);
  setup.channels = parse_channels(root);
  setup.calibrations = parse_calibrations(root, setup.channels);
  setup.trial.criteria = parse_criteria(root);
  root.refuse_unknown();
  if (problems.empty()) check_across(root, setup);
  if (!problems.empty()) return tl::unexpected{problems.complaint()};
  return setup;
}

Result<std::string> text_of(const std::filesystem::path& file, const std::string& kind, const std::string& if_missing) {
  std::error_code error;
  if (std::filesystem::is_directory(file, error)) {
    return complain("This is a folder, not a " + kind + " file.", file.string(), "Name the " + kind + " file itself.");
  }
  std::ifstream stream{file, std::ios::binary};
  if (!stream) {
    return complain("The " + kind + " file cannot be opened: " + std::string{std::strerror(errno)} + ".", file.string(),
                    if_missing);
  }
  if (std::filesystem::file_size(file, error) > kFileLimitBytes && !error) {
    return complain("The file is larger than 4 MB, so it is no " + kind + " file.", file.string(),
                    "Name the " + kind + " file (TOML).");
  }
  std::string text{std::istreambuf_iterator<char>{stream}, {}};
  if (stream.bad()) return complain("The " + kind + " file cannot be read to its end.", file.string(), "Check the disk.");
  return text;
}

/// The calibration file that a setup's text names, beside the setup; nothing if it names none or is no TOML, which parsing
/// reports.
std::filesystem::path named_calibration_file(const std::string& text, const std::filesystem::path& setup_file) {
  const auto document = parse_document(text, Problems{setup_file.string(), kKind, kExplained}, kShown);
  if (!document) return {};
  const std::string name = (*document)["rig"]["calibration_file"].value_or(std::string{});
  return name.empty() ? std::filesystem::path{} : setup_file.parent_path() / name;
}

/// Alone it must be TOML that holds nothing but [[calibration]]: it may not say anything else of the rig.
Result<void> only_calibrations(const Appended& file) {
  const Problems problems{file.source, "calibration file", kExplained};
  const auto document = parse_document(file.text, problems, kShown);
  if (!document) return tl::unexpected{document.error()};
  for (const auto& [key, value] : *document)
    if (key.str() != "calibration")
      return complain("This does not belong into a calibration file.",
                      problems.place(value.source().begin.line) + ", key " + std::string{key.str()},
                      "Allowed: [[calibration]] alone; everything else stands in the setup.");
  return {};
}

/// The two files of a setup as they lie on the disk.
struct OnDisk {
  std::string own;
  std::optional<Appended> appended;
};

Result<OnDisk> read_both(const std::filesystem::path& file) {
  auto own = text_of(file, "setup", "Check the name and that you may read it.");
  if (!own) return tl::unexpected{own.error()};
  OnDisk out{std::move(*own), {}};
  const std::filesystem::path beside = named_calibration_file(out.own, file);
  if (beside.empty()) return out;
  auto records =
      text_of(beside, "calibration",
              "Check calibration_file in " + file.string() +
                  ". If nothing was recorded yet, make an empty file there; a file that is lost must not look like one.");
  if (!records) return tl::unexpected{records.error()};
  out.appended = Appended{std::move(*records), beside.string()};
  return out;
}

}  // namespace

Result<Setup> parse_setup(std::string_view text, const std::string& source) { return parse(text, source, {}); }

Result<Setup> load_setup(const std::filesystem::path& file) {
  const auto both = read_both(file);
  if (!both) return tl::unexpected{both.error()};
  if (both->appended)
    if (auto good = only_calibrations(*both->appended); !good) return tl::unexpected{good.error()};
  auto setup = parse(both->own, file.string(), both->appended);
  if (!setup) return setup;
  setup->file = file;
  if (both->appended) setup->calibration_file = both->appended->source;
  return setup;
}

Result<std::string> setup_text_on_disk(const std::filesystem::path& file) {
  auto both = read_both(file);
  if (!both) return tl::unexpected{both.error()};
  return both->appended ? joined_text(std::move(both->own), both->appended->text) : std::move(both->own);
}

}  // namespace coldstroke::daq
