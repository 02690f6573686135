// SPDX-License-Identifier: GPL-3.0-or-later
//
// A scenario: what the virtual rig is made of, how its parts scatter, and which faults it shows. TOML, docs/virtual-rig.md.
// A value left out of a file keeps the one written here; together these are the scenario "steady".
#pragma once

#include <array>
#include <cstdint>
#include <filesystem>
#include <limits>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/result.hpp"
#include "daq/virtual_rig/fault.hpp"

namespace coldstroke::daq {

/// How far one calibrated sensor is from its calibration: errors are drawn once a seed from the standard uncertainties.
struct SensorScatter {
  double gain_standard_uncertainty = 0.0;  ///< relative
  double zero_standard_uncertainty = 0.0;  ///< SI
  double noise_rms = 0.0;                  ///< SI, white, a sample
  double bandwidth_hz = 2000.0;  ///< -3 dB of a single pole; for the force cell and the accelerometer: natural frequency
  double damping = 0.7;          ///< fraction of critical; force cell and accelerometer only
  double range_high = 0.0, range_low = 0.0;  ///< SI; the converter stops there
  bool operator==(const SensorScatter&) const = default;
};

struct Scenario {
  std::string name = "steady", description = "a healthy rig: everything works";

  struct Gas {
    double reservoir_volume_m3 = 0.75e-3, dead_volume_m3 = 30.0e-6;
    double ambient_pascals = 101325.0, ambient_kelvin = 293.15;
    double regulator_set_pascals = 8.15e5;  ///< gauge
    double regulator_flow_kg_per_s = 150.0 / 60000.0 * 1.185;
    double regulator_band_pascals = 1.5e5;
    double vent_conductance = 1.0e-8;     ///< m^3/(s Pa)
    double exhaust_conductance = 0.3e-8;  ///< of the chamber, while both fast valves are shut (3/2-way valves)
    double relief_pascals = 11.0e5;       ///< gauge; opens here
    double relief_conductance = 2.0e-8;
    double wall_watts_per_kelvin = 15.0;  ///< heat into the reservoir gas from its wall
    bool operator==(const Gas&) const = default;
  } gas;

  struct Valves {
    double fast_conductance = 8.0e-8;  ///< m^3/(s Pa), each of the two
    double fast_critical_ratio = 0.3;
    double fast_dead_seconds = 0.006, fast_opening_seconds = 0.010;
    double fast_jitter_seconds = 0.0002;  ///< standard deviation of the dead time, each valve, each ejection
    double slow_dead_seconds = 0.010, slow_opening_seconds = 0.010;  ///< charge and vent valve
    double lid_travel_seconds = 0.8;
    bool operator==(const Valves&) const = default;
  } valves;

  struct Tube {
    double bore_metres = 0.040, stroke_metres = 0.300, stroke_standard_uncertainty_metres = 0.0003;
    double tilt_radians = 0.0;
    double piston_mass_kg = 0.100, piston_mass_standard_uncertainty_kg = 0.0005;
    double breakaway_newtons = 25.0, running_friction_newtons = 15.0, seal_friction_fraction = 0.05;
    double friction_scatter = 0.03;  ///< relative standard deviation, each ejection
    double bumper_seconds = 0.0015;  ///< the piston's stop: length of its half-sine blow
    bool operator==(const Tube&) const = default;
  } tube;

  struct Vehicle {
    double mass_kg = 1.500, mass_standard_uncertainty_kg = 0.001;
    double diameter_metres = 0.075, drag_coefficient = 0.6;
    double net_height_metres = 0.0;  ///< of the catching net above the tube's mouth
    double landing_seconds = 0.025;  ///< length of the half-sine blow in the net
    double recover_seconds = 2.0;    ///< lies this long (and until the rig is vented) before a person puts it back
    double handling_seconds = 0.8;   ///< the putting back
    bool cable_drops = true;         ///< the flight link is lost at separation
    bool hang_up = false;            ///< real time only: the lost link looks like a pulled USB plug, not like silence
    bool operator==(const Vehicle&) const = default;
  } vehicle;

  struct Boards {
    double rig_rate_hz = 10000.0, flight_rate_hz = 2000.0;
    double rig_baud = 3.0e6, flight_baud = 921600.0;
    double over_pressure_pascals = 10.0e5;                  ///< gauge: the rig board vents by itself
    double drift_standard_deviation_ppm = 20.0;             ///< each board's clock
    double offset_max_seconds = 120.0;                      ///< clocks start anywhere from 0 to here
    std::optional<double> rig_drift_ppm, flight_drift_ppm;  ///< instead of a drawn one
    bool operator==(const Boards&) const = default;
  } boards;

  struct Line {
    double latency_low_seconds = 0.00005, latency_high_seconds = 0.00025;  ///< each way, drawn once a seed, uniform
    double jitter_seconds = 0.0001;                                        ///< on top, each time, uniform from 0
    double tail_probability = 0.02, tail_seconds = 0.001;                  ///< now and then an adapter holds bytes back
    bool operator==(const Line&) const = default;
  } line;

  bool force_in_line = false;  ///< the force cell sits between piston and vehicle instead of under the tube
  SensorScatter force{0.003, 0.3, 0.4, 2500.0, 0.6, 2000.0, -2000.0};
  SensorScatter supply_pressure{0.0025, 500.0, 150.0, 2000.0, 0.7, 16.0e5, -1.0e5};
  SensorScatter chamber_pressure{0.0025, 500.0, 150.0, 2000.0, 0.7, 16.0e5, -1.0e5};
  SensorScatter dummy_current{0.005, 0.001, 0.001, 5000.0, 0.7, 10.0, -10.0};
  SensorScatter acceleration{0.005, 0.4903325, 0.4, 1000.0, 0.7, 980.665, -980.665};

  struct Detector {
    std::string kind = "moving_mean";  ///< moving_mean, sustained, velocity_gain
    std::uint8_t axis = 2;             ///< 0 x, 1 y, 2 z (along the tube)
    double threshold_g = 10.0;         ///< net of rest
    double speed_mps = 3.0;            ///< velocity_gain only
    double window_seconds = 0.020;     ///< sustained: how long in a row
    double building_g = 4.0;
    double board_deadline_seconds = 0.250;  ///< the board inhibits itself after; 0: never
    double filter_seconds = 0.0;            ///< single-pole low pass ahead of the detector and the stream, 0: none
    double axis_limit_g = 0.0;              ///< the accelerometer's own range, if smaller than the converter's; 0: not smaller
    double memory_before_seconds = 2.0;
    double decision_deadline_seconds = 0.060;  ///< for the truth file's outcome: from first motion
    bool operator==(const Detector&) const = default;
  } detector;

  /// The flight board's firing channels. On a bench they are open or end in a dummy load, a resistor in a box, whose leads trail
  /// behind the vehicle. There is no igniter in the virtual rig.
  struct Firing {
    bool arm_switch = false;
    bool dummy_load = false;  ///< both channels end in one; the rig board samples the current of channel 1
    double load_ohms = 2.0, series_ohms = 1.0, wire_ohms = 0.35, battery_ohms = 0.15, battery_volts = 8.0;
    double logic_seconds = 0.010;  ///< decision to current
    double pulse_seconds = 0.5;
    bool operator==(const Firing&) const = default;
  } firing;

  std::string rig_firmware_version = "1.0.0", flight_firmware_version = "1.0.0";
  std::vector<Fault> faults;
  bool operator==(const Scenario&) const = default;
};

/// Reads scenario text; `source` names it in complaints, which give line, key and what is allowed.
[[nodiscard]] Result<Scenario> parse_scenario(std::string_view text, const std::string& source);
/// A scenario by the name of a built-in one, or from a file if `name_or_file` ends in ".toml".
[[nodiscard]] Result<Scenario> load_scenario(const std::string& name_or_file);
/// The built-in ones: name and the text of the file.
struct BuiltInScenario {
  std::string_view name, text;
};
[[nodiscard]] std::vector<BuiltInScenario> built_in_scenarios();
/// Every key a scenario file may have, "section.key", for the documentation's test.
[[nodiscard]] std::vector<std::string> scenario_keys();

}  // namespace coldstroke::daq
