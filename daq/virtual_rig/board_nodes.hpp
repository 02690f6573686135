// SPDX-License-Identifier: GPL-3.0-or-later
//
// The two boards as hardware around their C code (protocol/board): clock, pins, supply, line. What runs inside is what runs on a
// real board.
#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "daq/virtual_rig/line_model.hpp"
#include "daq/virtual_rig/node_clock.hpp"
#include "daq/virtual_rig/scenario.hpp"
#include "protocol/board/flight_board.h"
#include "protocol/board/rig_board.h"

namespace coldstroke::daq {

/// What both have: the clock, both directions of the line, the supply.
struct NodeHardware {
  NodeHardware(double baud, double rate_hz, const Scenario::Line& line, std::uint64_t seed, std::uint64_t purpose)
      : to_host{baud, line, seed, purpose}, to_board{baud, line, seed, purpose + 2}, period_ns{std::llround(1.0e9 / rate_hz)} {}
  NodeClock clock;
  LineToHost to_host;
  LineToBoard to_board;
  std::int64_t period_ns;
  std::int64_t next_sample = 0;              ///< index since power-up
  std::optional<std::int64_t> off_until_ns;  ///< without supply
  std::uint32_t boot_count = 1;
  [[nodiscard]] bool powered() const { return !off_until_ns.has_value(); }
  [[nodiscard]] std::int64_t next_sample_ns() const { return clock.sample_ns(next_sample, period_ns); }
};

class RigNode {
 public:
  RigNode(const Scenario& scenario, std::uint64_t seed, const std::array<double, 4>& scales);
  /// Power-up at `now_ns`: the clock starts at `offset_us`.
  void power_up(std::int64_t now_ns, std::int64_t offset_us, double drift_ppm);
  void receive(std::int64_t now_ns, const std::vector<std::uint8_t>& bytes);
  void sample(const std::array<std::int32_t, 4>& counts);
  void step(std::int64_t now_ns, const cs_rig_inputs& inputs);
  void pump(std::int64_t now_ns) { hardware.to_host.pump(board_.line, now_ns); }
  void set_firmware_version(const std::string& version);
  /// Coils as the board drives them; without supply all let go: vent open, everything else shut.
  [[nodiscard]] std::uint16_t outputs() const;
  [[nodiscard]] std::uint8_t rig_step() const { return board_.step; }
  [[nodiscard]] std::uint16_t faults() const { return board_.faults; }
  NodeHardware hardware;

 private:
  cs_rig_config config_{};
  cs_rig board_{};
  std::string version_;
};

/// Settings of the detector in force and their text for the identity dialogue.
struct DetectorSettings {
  Scenario::Detector detector;
  double rate_hz = 2000.0, scale = 1.0, tilt_radians = 0.0;
  [[nodiscard]] cs_detector_config config() const;
  [[nodiscard]] std::vector<std::pair<std::string, std::string>> texts() const;
};

class FlightNode {
 public:
  FlightNode(const Scenario& scenario, std::uint64_t seed, double scale);
  void power_up(std::int64_t now_ns, std::int64_t offset_us, double drift_ppm);
  void receive(std::int64_t now_ns, const std::vector<std::uint8_t>& bytes);
  /// One sample; true if the detector decided at it.
  bool sample(const std::array<std::int16_t, 3>& counts);
  void step(std::int64_t now_ns, const cs_flight_inputs& inputs);
  void pump(std::int64_t now_ns) { hardware.to_host.pump(board_.line, now_ns); }
  void set_firmware_version(const std::string& version);
  /// Takes new settings: like flashing them, the detector starts afresh. Nothing happens if they are the ones in force.
  void set_detector(const Scenario::Detector& detector);
  [[nodiscard]] std::uint32_t decision_count() const { return board_.decision_count; }
  NodeHardware hardware;

 private:
  void write_config();
  Scenario scenario_;
  DetectorSettings settings_;
  std::vector<std::pair<std::string, std::string>> texts_;
  std::vector<cs_setting> setting_rows_;
  cs_flight_config config_{};
  cs_flight board_{};
  std::string version_;
};

}  // namespace coldstroke::daq
