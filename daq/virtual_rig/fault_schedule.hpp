// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daq/virtual_rig/line_model.hpp"
#include "daq/virtual_rig/rig_physics.hpp"
#include "daq/virtual_rig/scenario.hpp"
#include "daq/virtual_rig/sensor_bank.hpp"

namespace coldstroke::daq {

/// Everything faults do at one moment.
struct FaultsInForce {
  PhysicsFaults physics;
  SensorFaults sensors;
  std::array<LineFaults, 2> to_host, to_board;  ///< by node: rig, flight
  bool swapped = false, armed = false, stop_loop_open = false, key_out = false;
  std::array<std::optional<double>, 2> channel_ohms;  ///< present on firing channels
  std::optional<double> load_ohms, series_ohms;
  std::optional<std::uint16_t> readback_stuck;  ///< bits that do not follow
  Scenario::Detector detector;
  std::string rig_firmware, flight_firmware;
  std::array<std::optional<double>, 2> jump_seconds, off_seconds;  ///< begin now, once
};

/// Which faults are there now: a function of bench time, ejection and the rig board's step.
class FaultSchedule {
 public:
  explicit FaultSchedule(const Scenario& scenario);
  /// Called often, with time not going back.
  [[nodiscard]] const FaultsInForce& update(double now, int ejection, std::uint8_t step);
  /// Names of the faults that were in force at some time of this ejection, the one under way or the one before.
  [[nodiscard]] std::vector<std::string> names(int ejection) const;

 private:
  struct State {
    bool in_force = false;
    int seen_in = 0, seen_before = 0;  ///< newest ejection in which it was in force, and the one before that
  };
  [[nodiscard]] bool holds(const Fault& fault, double now) const;
  void rebuild(const std::vector<std::size_t>& begun);
  void apply(const Fault& fault, bool begins);
  void apply_to_lines(const Fault& fault);
  void apply_to_sensors(const Fault& fault);
  void apply_to_gas(const Fault& fault);
  void apply_to_flight_board(const Fault& fault);

  Scenario scenario_;
  std::vector<State> states_;
  int ejection_ = 0;
  double seated_at_ = 0.0;
  std::array<std::optional<double>, 4> step_since_;
  FaultsInForce now_;
};

}  // namespace coldstroke::daq
