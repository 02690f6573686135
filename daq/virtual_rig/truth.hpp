// SPDX-License-Identifier: GPL-3.0-or-later
//
// What really happened in the virtual rig, for checking what the program made of the boards' bytes.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daq/virtual_rig/pressure_story.hpp"

namespace coldstroke::daq {

/// One ejection as the physics saw it. Bench seconds; absent: it did not happen. Metrics as defined in docs/methods.md.
struct EjectionStory {
  int number = 1;
  std::optional<double> release_seconds, first_motion_seconds, separation_seconds, landing_seconds;
  double reservoir_at_release_pascals = 0.0;     ///< gauge
  double reservoir_at_separation_pascals = 0.0;  ///< gauge
  double exit_speed_mps = 0.0;
  double peak_acceleration_mps2 = 0.0;  ///< kinematic, first motion to separation
  double peak_time_seconds = 0.0;
  std::optional<double> rise_time_seconds;  ///< 10 to 90 % of the peak, first crossings
  double lateral_peak_mps2 = 0.0;           ///< across the tube, change from rest, first motion to separation
  double recovery_pascals = 0.0;            ///< of the reservoir after separation, means over 50 ms
  PressureStory pressures;
  double apex_metres = 0.0;
  std::vector<double> decisions_seconds;  ///< of the detector, since its last reset
  bool memory_lost = false;               ///< the flight board was reset after the release
};

/// A story with the frame it is told in.
struct EjectionTruth {
  EjectionStory story;
  std::string scenario;
  std::uint64_t seed = 0;
  double vehicle_mass_kg = 0.0, piston_mass_kg = 0.0, stroke_metres = 0.0, tilt_radians = 0.0;
  double decision_deadline_seconds = 0.0;
  double rig_offset_seconds = 0.0, rig_drift_ppm = 0.0, flight_offset_seconds = 0.0, flight_drift_ppm = 0.0;
  std::vector<std::string> faults;  ///< names of those in force at some time of this ejection

  /// One bench instant on the rig board's clock, seconds.
  [[nodiscard]] double rig_seconds(double bench_seconds) const {
    return rig_offset_seconds + (1.0 + rig_drift_ppm * 1.0e-6) * bench_seconds;
  }
  /// "in_time", "early", "late", "missed"; "no_motion" if nothing moved.
  [[nodiscard]] std::string outcome() const;
  [[nodiscard]] std::optional<double> stroke_seconds() const;
  [[nodiscard]] std::optional<double> latency_seconds() const;
  [[nodiscard]] double impulse_newton_seconds() const { return vehicle_mass_kg * story.exit_speed_mps; }
  [[nodiscard]] double peak_force_newtons() const;  ///< on the vehicle, weight included
  [[nodiscard]] double peak_felt_g() const;
  [[nodiscard]] std::optional<double> mean_felt_g() const;
  [[nodiscard]] double droop_pascals() const {
    return story.reservoir_at_release_pascals - story.reservoir_at_separation_pascals;
  }
  /// One line of JSON, no line end; what did not happen is null.
  [[nodiscard]] std::string json() const;
};

}  // namespace coldstroke::daq
