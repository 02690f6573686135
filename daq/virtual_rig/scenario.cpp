// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/scenario.hpp"

#include <toml++/toml.h>
#include <algorithm>
#include <array>
#include <fstream>
#include <iterator>
#include <numbers>
#include <sstream>

#include "protocol/board/detector.h"

namespace coldstroke::daq {
namespace {

constexpr double kDm3PerSecondBar = 1.0e-8;  // m^3/(s Pa)
constexpr double kBar = 1.0e5;
constexpr double kNormalLitrePerMinute = 1.185e-3 / 60.0;  // kg/s, ISO 8778 reference air
constexpr double kDegree = std::numbers::pi / 180.0;
constexpr double kG = 9.80665;

/// A key that holds a number: SI value = number in the file times `unit`; allowed from `low` to `high` in the file's unit.
struct NumberKey {
  std::string_view section, key;
  double& (*at)(Scenario&);
  double unit, low, high;
};

#define COLDSTROKE_NUMBER(section, key, member, unit, low, high)                   \
  NumberKey {                                                                      \
    section, key, [](Scenario& s) -> double& { return s.member; }, unit, low, high \
  }
#define COLDSTROKE_SENSOR(section, member, suffix, unit)                                                                   \
  COLDSTROKE_NUMBER(section, "gain_standard_uncertainty", member.gain_standard_uncertainty, 1.0, 0.0, 0.2),                \
      COLDSTROKE_NUMBER(section, "zero_standard_uncertainty_" suffix, member.zero_standard_uncertainty, unit, 0.0, 1.0e6), \
      COLDSTROKE_NUMBER(section, "noise_rms_" suffix, member.noise_rms, unit, 0.0, 1.0e6),                                 \
      COLDSTROKE_NUMBER(section, "bandwidth_hz", member.bandwidth_hz, 1.0, 10.0, 1.0e5),                                   \
      COLDSTROKE_NUMBER(section, "range_high_" suffix, member.range_high, unit, 1.0e-6, 1.0e9),                            \
      COLDSTROKE_NUMBER(section, "range_low_" suffix, member.range_low, unit, -1.0e9, 0.0)

constexpr std::array kNumbers{
    COLDSTROKE_NUMBER("gas", "reservoir_volume_litres", gas.reservoir_volume_m3, 1.0e-3, 0.02, 100.0),
    COLDSTROKE_NUMBER("gas", "dead_volume_cm3", gas.dead_volume_m3, 1.0e-6, 1.0, 10000.0),
    COLDSTROKE_NUMBER("gas", "ambient_pascals", gas.ambient_pascals, 1.0, 50000.0, 120000.0),
    COLDSTROKE_NUMBER("gas", "ambient_kelvin", gas.ambient_kelvin, 1.0, 230.0, 330.0),
    COLDSTROKE_NUMBER("gas", "regulator_set_bar", gas.regulator_set_pascals, kBar, 0.0, 50.0),
    COLDSTROKE_NUMBER("gas", "regulator_flow_litres_per_minute", gas.regulator_flow_kg_per_s, kNormalLitrePerMinute, 0.1, 5000.0),
    COLDSTROKE_NUMBER("gas", "regulator_band_bar", gas.regulator_band_pascals, kBar, 0.01, 20.0),
    COLDSTROKE_NUMBER("gas", "vent_conductance_dm3_per_s_bar", gas.vent_conductance, kDm3PerSecondBar, 0.01, 50.0),
    COLDSTROKE_NUMBER("gas", "exhaust_conductance_dm3_per_s_bar", gas.exhaust_conductance, kDm3PerSecondBar, 0.01, 50.0),
    COLDSTROKE_NUMBER("gas", "relief_bar", gas.relief_pascals, kBar, 0.1, 100.0),
    COLDSTROKE_NUMBER("gas", "relief_conductance_dm3_per_s_bar", gas.relief_conductance, kDm3PerSecondBar, 0.0, 50.0),
    COLDSTROKE_NUMBER("gas", "wall_watts_per_kelvin", gas.wall_watts_per_kelvin, 1.0, 0.0, 1000.0),
    COLDSTROKE_NUMBER("valves", "fast_conductance_dm3_per_s_bar", valves.fast_conductance, kDm3PerSecondBar, 0.01, 500.0),
    COLDSTROKE_NUMBER("valves", "fast_critical_ratio", valves.fast_critical_ratio, 1.0, 0.05, 0.6),
    COLDSTROKE_NUMBER("valves", "fast_dead_seconds", valves.fast_dead_seconds, 1.0, 0.0, 1.0),
    COLDSTROKE_NUMBER("valves", "fast_opening_seconds", valves.fast_opening_seconds, 1.0, 0.0, 1.0),
    COLDSTROKE_NUMBER("valves", "fast_jitter_seconds", valves.fast_jitter_seconds, 1.0, 0.0, 0.1),
    COLDSTROKE_NUMBER("valves", "slow_dead_seconds", valves.slow_dead_seconds, 1.0, 0.0, 1.0),
    COLDSTROKE_NUMBER("valves", "slow_opening_seconds", valves.slow_opening_seconds, 1.0, 0.0, 1.0),
    COLDSTROKE_NUMBER("valves", "lid_travel_seconds", valves.lid_travel_seconds, 1.0, 0.0, 60.0),
    COLDSTROKE_NUMBER("tube", "bore_metres", tube.bore_metres, 1.0, 0.005, 0.5),
    COLDSTROKE_NUMBER("tube", "stroke_metres", tube.stroke_metres, 1.0, 0.01, 5.0),
    COLDSTROKE_NUMBER("tube", "stroke_standard_uncertainty_metres", tube.stroke_standard_uncertainty_metres, 1.0, 0.0, 0.1),
    COLDSTROKE_NUMBER("tube", "tilt_degrees", tube.tilt_radians, kDegree, 0.0, 60.0),
    COLDSTROKE_NUMBER("tube", "piston_mass_kg", tube.piston_mass_kg, 1.0, 0.001, 50.0),
    COLDSTROKE_NUMBER("tube", "piston_mass_standard_uncertainty_kg", tube.piston_mass_standard_uncertainty_kg, 1.0, 0.0, 1.0),
    COLDSTROKE_NUMBER("tube", "breakaway_newtons", tube.breakaway_newtons, 1.0, 0.0, 10000.0),
    COLDSTROKE_NUMBER("tube", "running_friction_newtons", tube.running_friction_newtons, 1.0, 0.0, 10000.0),
    COLDSTROKE_NUMBER("tube", "seal_friction_fraction", tube.seal_friction_fraction, 1.0, 0.0, 0.9),
    COLDSTROKE_NUMBER("tube", "friction_scatter_fraction", tube.friction_scatter, 1.0, 0.0, 0.3),
    COLDSTROKE_NUMBER("tube", "bumper_seconds", tube.bumper_seconds, 1.0, 0.0002, 0.1),
    COLDSTROKE_NUMBER("vehicle", "mass_kg", vehicle.mass_kg, 1.0, 0.01, 100.0),
    COLDSTROKE_NUMBER("vehicle", "mass_standard_uncertainty_kg", vehicle.mass_standard_uncertainty_kg, 1.0, 0.0, 1.0),
    COLDSTROKE_NUMBER("vehicle", "diameter_metres", vehicle.diameter_metres, 1.0, 0.005, 0.5),
    COLDSTROKE_NUMBER("vehicle", "drag_coefficient", vehicle.drag_coefficient, 1.0, 0.0, 5.0),
    COLDSTROKE_NUMBER("vehicle", "net_height_metres", vehicle.net_height_metres, 1.0, -10.0, 10.0),
    COLDSTROKE_NUMBER("vehicle", "landing_seconds", vehicle.landing_seconds, 1.0, 0.001, 1.0),
    COLDSTROKE_NUMBER("vehicle", "recover_seconds", vehicle.recover_seconds, 1.0, 0.0, 3600.0),
    COLDSTROKE_NUMBER("vehicle", "handling_seconds", vehicle.handling_seconds, 1.0, 0.1, 60.0),
    COLDSTROKE_NUMBER("boards", "rig_rate_hz", boards.rig_rate_hz, 1.0, 100.0, 50000.0),
    COLDSTROKE_NUMBER("boards", "flight_rate_hz", boards.flight_rate_hz, 1.0, 50.0, 10000.0),
    COLDSTROKE_NUMBER("boards", "rig_baud", boards.rig_baud, 1.0, 9600.0, 12.0e6),
    COLDSTROKE_NUMBER("boards", "flight_baud", boards.flight_baud, 1.0, 9600.0, 12.0e6),
    COLDSTROKE_NUMBER("boards", "over_pressure_bar", boards.over_pressure_pascals, kBar, 0.1, 50.0),
    COLDSTROKE_NUMBER("boards", "drift_standard_deviation_ppm", boards.drift_standard_deviation_ppm, 1.0, 0.0, 500.0),
    COLDSTROKE_NUMBER("boards", "offset_max_seconds", boards.offset_max_seconds, 1.0, 0.0, 1.0e6),
    COLDSTROKE_NUMBER("line", "latency_low_seconds", line.latency_low_seconds, 1.0, 0.0, 0.1),
    COLDSTROKE_NUMBER("line", "latency_high_seconds", line.latency_high_seconds, 1.0, 0.0, 0.1),
    COLDSTROKE_NUMBER("line", "jitter_seconds", line.jitter_seconds, 1.0, 0.0, 0.1),
    COLDSTROKE_NUMBER("line", "tail_probability", line.tail_probability, 1.0, 0.0, 1.0),
    COLDSTROKE_NUMBER("line", "tail_seconds", line.tail_seconds, 1.0, 0.0, 0.1),
    COLDSTROKE_SENSOR("force", force, "newtons", 1.0),
    COLDSTROKE_NUMBER("force", "damping_ratio", force.damping, 1.0, 0.01, 0.99),
    COLDSTROKE_SENSOR("supply_pressure", supply_pressure, "pascals", 1.0),
    COLDSTROKE_SENSOR("chamber_pressure", chamber_pressure, "pascals", 1.0),
    COLDSTROKE_SENSOR("dummy_current", dummy_current, "amperes", 1.0),
    COLDSTROKE_SENSOR("acceleration", acceleration, "g", kG),
    COLDSTROKE_NUMBER("acceleration", "damping_ratio", acceleration.damping, 1.0, 0.01, 0.99),
    COLDSTROKE_NUMBER("detector", "threshold_g", detector.threshold_g, 1.0, 0.01, 1000.0),
    COLDSTROKE_NUMBER("detector", "speed_mps", detector.speed_mps, 1.0, 0.01, 1000.0),
    COLDSTROKE_NUMBER("detector", "window_seconds", detector.window_seconds, 1.0, 0.0, 10.0),
    COLDSTROKE_NUMBER("detector", "building_g", detector.building_g, 1.0, 0.01, 1000.0),
    COLDSTROKE_NUMBER("detector", "board_deadline_seconds", detector.board_deadline_seconds, 1.0, 0.0, 1000.0),
    COLDSTROKE_NUMBER("detector", "filter_seconds", detector.filter_seconds, 1.0, 0.0, 10.0),
    COLDSTROKE_NUMBER("detector", "axis_limit_g", detector.axis_limit_g, 1.0, 0.0, 1000.0),
    COLDSTROKE_NUMBER("detector", "memory_before_seconds", detector.memory_before_seconds, 1.0, 0.0, 1000.0),
    COLDSTROKE_NUMBER("detector", "decision_deadline_seconds", detector.decision_deadline_seconds, 1.0, 0.001, 10.0),
    COLDSTROKE_NUMBER("firing", "load_ohms", firing.load_ohms, 1.0, 0.1, 1.0e6),
    COLDSTROKE_NUMBER("firing", "series_ohms", firing.series_ohms, 1.0, 0.0, 1.0e6),
    COLDSTROKE_NUMBER("firing", "wire_ohms", firing.wire_ohms, 1.0, 0.0, 1.0e6),
    COLDSTROKE_NUMBER("firing", "battery_ohms", firing.battery_ohms, 1.0, 0.001, 1.0e6),
    COLDSTROKE_NUMBER("firing", "battery_volts", firing.battery_volts, 1.0, 0.0, 60.0),
    COLDSTROKE_NUMBER("firing", "logic_seconds", firing.logic_seconds, 1.0, 0.0, 60.0),
    COLDSTROKE_NUMBER("firing", "pulse_seconds", firing.pulse_seconds, 1.0, 0.0, 60.0),
};
#undef COLDSTROKE_SENSOR
#undef COLDSTROKE_NUMBER

struct FlagKey {
  std::string_view section, key;
  bool& (*at)(Scenario&);
};
constexpr std::array kFlags{
    FlagKey{"vehicle", "cable_drops", [](Scenario& s) -> bool& { return s.vehicle.cable_drops; }},
    FlagKey{"firing", "arm_switch", [](Scenario& s) -> bool& { return s.firing.arm_switch; }},
    FlagKey{"firing", "dummy_load", [](Scenario& s) -> bool& { return s.firing.dummy_load; }},
};

/// A key that holds a word. `set` returns false if the word is none of `allowed`.
struct WordKey {
  std::string_view section, key, allowed;
  bool (*set)(Scenario&, const std::string&);
};
bool is_one_of(const std::string& word, std::initializer_list<std::string_view> words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}
constexpr std::array kWords{
    WordKey{"", "name", "1 to 40 characters",
            [](Scenario& s, const std::string& w) { return s.name = w, !w.empty() && w.size() <= 40; }},
    WordKey{"", "description", "up to 400 characters",
            [](Scenario& s, const std::string& w) { return s.description = w, w.size() <= 400; }},
    WordKey{"vehicle", "separation", "\"silent\" or \"hang_up\"",
            [](Scenario& s, const std::string& w) {
              return s.vehicle.hang_up = w == "hang_up", is_one_of(w, {"silent", "hang_up"});
            }},
    WordKey{"force", "cell", "\"reaction\" or \"in_line\"",
            [](Scenario& s, const std::string& w) {
              return s.force_in_line = w == "in_line", is_one_of(w, {"reaction", "in_line"});
            }},
    WordKey{"detector", "kind", "\"moving_mean\", \"sustained\" or \"velocity_gain\"",
            [](Scenario& s, const std::string& w) {
              return s.detector.kind = w, is_one_of(w, {"moving_mean", "sustained", "velocity_gain"});
            }},
    WordKey{"detector", "axis", "\"x\", \"y\" or \"z\"",
            [](Scenario& s, const std::string& w) {
              if (!is_one_of(w, {"x", "y", "z"})) return false;
              s.detector.axis = static_cast<std::uint8_t>(w[0] - 'x');
              return true;
            }},
    WordKey{"boards", "rig_firmware_version", "1 to 32 characters",
            [](Scenario& s, const std::string& w) { return s.rig_firmware_version = w, !w.empty() && w.size() <= 32; }},
    WordKey{"boards", "flight_firmware_version", "1 to 32 characters",
            [](Scenario& s, const std::string& w) { return s.flight_firmware_version = w, !w.empty() && w.size() <= 32; }},
};
/// Drifts are optional numbers: absent means drawn.
struct OptionalKey {
  std::string_view section, key;
  std::optional<double>& (*at)(Scenario&);
  double low, high;
};
constexpr std::array kOptionals{
    OptionalKey{"boards", "rig_drift_ppm", [](Scenario& s) -> std::optional<double>& { return s.boards.rig_drift_ppm; }, -1000.0,
                1000.0},
    OptionalKey{"boards", "flight_drift_ppm", [](Scenario& s) -> std::optional<double>& { return s.boards.flight_drift_ppm; },
                -1000.0, 1000.0},
};

std::string plain(double value) {
  std::ostringstream out;
  out << value;
  return out.str();
}

/// Reads one file; the first complaint ends it.
class Reader {
 public:
  Reader(std::string source, Scenario& into) : source_{std::move(source)}, into_{into} {}

  Result<bool> read(const toml::table& file) {
    for (const auto& [key, value] : file) {
      const std::string name{key.str()};
      if (name == "fault") {
        if (auto read = faults(value); !read) return read;
      } else if (const toml::table* section = value.as_table(); section != nullptr) {
        for (const auto& [inner, node] : *section)
          if (auto read = entry(name, std::string{inner.str()}, node); !read) return read;
      } else if (auto read = entry("", name, value); !read) {
        return read;
      }
    }
    return whole();
  }

 private:
  [[nodiscard]] std::string place(const toml::node& node, const std::string& key) const {
    return source_ + ", line " + std::to_string(node.source().begin.line) + ", key " + key;
  }

  Result<bool> entry(const std::string& section, const std::string& key, const toml::node& node) {
    const std::string where = place(node, section.empty() ? key : section + "." + key);
    const auto is = [&](const auto& row) { return row.section == section && row.key == key; };
    if (const auto n = std::find_if(kNumbers.begin(), kNumbers.end(), is); n != kNumbers.end())
      return number(node, where, n->low, n->high, [&](double v) { n->at(into_) = v * n->unit; });
    if (const auto o = std::find_if(kOptionals.begin(), kOptionals.end(), is); o != kOptionals.end())
      return number(node, where, o->low, o->high, [&](double v) { o->at(into_) = v; });
    if (const auto f = std::find_if(kFlags.begin(), kFlags.end(), is); f != kFlags.end()) {
      const std::optional<bool> value = node.value_exact<bool>();
      if (!value) return complain("This key must be true or false.", where, "Write true or false, without quotes.");
      f->at(into_) = *value;
      return true;
    }
    if (const auto w = std::find_if(kWords.begin(), kWords.end(), is); w != kWords.end()) {
      const std::optional<std::string> value = node.value_exact<std::string>();
      if (!value || !w->set(into_, *value))
        return complain("This key must be a word.", where, "Allowed: " + std::string(w->allowed) + ".");
      return true;
    }
    return unknown(section, where);
  }

  static Result<bool> unknown(const std::string& section, const std::string& where) {
    std::string all;
    for (const std::string& known : scenario_keys())
      if (section.empty() ? known.find('.') == std::string::npos : known.starts_with(section + "."))
        all += (all.empty() ? "" : ", ") + known;
    if (all.empty())
      all =
          "sections gas, valves, tube, vehicle, boards, line, force, supply_pressure, chamber_pressure, dummy_current, "
          "acceleration, detector, firing and [[fault]]";
    return complain("This key is not known.", where, "Known here: " + all + ".");
  }

  template <class Set>
  static Result<bool> number(const toml::node& node, const std::string& where, double low, double high, Set set) {
    const std::optional<double> value = node.is_number() ? node.value<double>() : std::nullopt;
    if (!value || !(*value >= low && *value <= high))
      return complain("This key must be a number in its range.", where, "Allowed: " + plain(low) + " to " + plain(high) + ".");
    set(*value);
    return true;
  }

  Result<bool> faults(const toml::node& node) {
    const toml::array* list = node.as_array();
    if (list == nullptr) return complain("Faults come as a list of tables.", place(node, "fault"), "Write [[fault]] above each.");
    for (const toml::node& one : *list) {
      const toml::table* table = one.as_table();
      if (table == nullptr) return complain("A fault must be a table.", place(one, "fault"), "Write [[fault]] above each.");
      if (auto read = fault(*table); !read) return read;
    }
    return true;
  }

  Result<bool> fault(const toml::table& table) {
    const std::optional<std::string> name = table["name"].value_exact<std::string>();
    if (!name) return complain("A fault has no name.", place(table, "fault.name"), "Give name = \"...\".");
    Result<Fault> made = parse_fault(*name);
    if (!made) return tl::unexpected(Complaint{made.error().what, place(*table.get("name"), "fault.name"), made.error().remedy});
    for (const auto& [key, value] : table) {
      if (key.str() == "name") continue;
      const std::string where = place(value, "fault." + std::string{key.str()});
      Result<bool> set = true;
      if (value.is_number())
        set = set_fault_number(*made, key.str(), *value.value<double>(), where);
      else if (const auto word = value.value_exact<std::string>())
        set = key.str() == "ejection" && *word == "every" ? Result<bool>{true} : set_fault_word(*made, key.str(), *word, where);
      else
        set = complain("A fault's value must be a number or a word.", where, "Write a plain number or a word in quotes.");
      if (!set) return set;
    }
    into_.faults.push_back(*made);
    return true;
  }

  /// What no single key can tell.
  Result<bool> whole() const {
    if (into_.line.latency_low_seconds > into_.line.latency_high_seconds)
      return complain("The smallest latency is above the largest.", source_ + ", section line",
                      "Make latency_low_seconds at most latency_high_seconds.");
    const double samples = into_.detector.window_seconds * into_.boards.flight_rate_hz;
    constexpr double most = CS_DETECTOR_WINDOW_MAX;
    if (samples < 0.999 || samples > most + 0.001)
      return complain("The detector's window does not fit the flight board.", source_ + ", key detector.window_seconds",
                      "It must be 1 to " + plain(most) + " samples at boards.flight_rate_hz.");
    return true;
  }

  std::string source_;
  Scenario& into_;
};

}  // namespace

std::vector<std::string> scenario_keys() {
  std::vector<std::string> out;
  const auto add = [&out](const auto& rows) {
    for (const auto& r : rows) out.push_back((r.section.empty() ? "" : std::string(r.section) + ".") + std::string(r.key));
  };
  add(kNumbers);
  add(kFlags);
  add(kWords);
  add(kOptionals);
  return out;
}

Result<Scenario> parse_scenario(std::string_view text, const std::string& source) {
  Scenario scenario;
  try {
    const toml::table file = toml::parse(text, source);
    Reader reader{source, scenario};
    if (const Result<bool> read = reader.read(file); !read) return tl::unexpected(read.error());
  } catch (const toml::parse_error& error) {
    return complain("This is not TOML: " + std::string{error.description()} + ".",
                    source + ", line " + std::to_string(error.source().begin.line),
                    "Correct the line; docs/virtual-rig.md shows the form.");
  }
  return scenario;
}

Result<Scenario> load_scenario(const std::string& name_or_file) {
  if (name_or_file.ends_with(".toml")) {
    std::ifstream in{name_or_file, std::ios::binary};
    if (!in) return complain("The scenario file cannot be read.", name_or_file, "Check the name and the permission.");
    const std::string text{std::istreambuf_iterator<char>{in}, {}};
    return parse_scenario(text, name_or_file);
  }
  std::string all;
  for (const BuiltInScenario& one : built_in_scenarios()) {
    if (one.name == name_or_file) return parse_scenario(one.text, "built-in scenario " + name_or_file);
    all += (all.empty() ? "" : ", ") + std::string{one.name};
  }
  return complain("There is no built-in scenario of this name.", name_or_file,
                  "Use one of: " + all + "; or a file ending in .toml.");
}

}  // namespace coldstroke::daq
