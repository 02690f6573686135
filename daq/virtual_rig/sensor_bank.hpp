// SPDX-License-Identifier: GPL-3.0-or-later
//
// Transducers and converters: loads in, counts out. Each sensor has its dynamics, a gain and a zero error drawn once a seed,
// white noise, a range and a resolution.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "daq/virtual_rig/random.hpp"
#include "daq/virtual_rig/rig_physics.hpp"

namespace coldstroke::daq {

/// Single pole, exact for inputs that run straight within a step.
class FirstOrderLag {
 public:
  explicit FirstOrderLag(double bandwidth_hz);
  double follow(double from, double to, double seconds);
  [[nodiscard]] double value() const { return value_; }
  void settle(double value) { value_ = value; }

 private:
  double time_constant_, value_ = 0.0, cached_seconds_ = -1.0, decay_ = 0.0;
};

/// Mass, spring and damper (damping below critical), exact for inputs that run straight within a step; gain 1 at rest.
class SecondOrderLag {
 public:
  SecondOrderLag(double natural_frequency_hz, double damping);
  double follow(double from, double to, double seconds);
  [[nodiscard]] double value() const { return value_; }
  void settle(double value) { value_ = value; }

 private:
  double omega_, damping_, value_ = 0.0, rate_ = 0.0;
  double cached_seconds_ = -1.0, ee_ = 0.0, er_ = 0.0, re_ = 0.0, rr_ = 0.0;  // how an excess and its rate carry over a step
};

enum class RigChannel : std::uint8_t { force, supply_pressure, chamber_pressure, dummy_current };

/// Faults of sensors in force now.
struct SensorFaults {
  std::optional<double> force_rail_newtons, axis_limit_mps2;
  bool force_frozen = false;
  std::array<std::optional<double>, 4> rig_constant;  ///< fraction of range, by RigChannel
  std::optional<double> acceleration_constant;
};

class SensorBank {
 public:
  SensorBank(const Scenario& scenario, std::uint64_t seed);

  /// Takes in one physics step: contiguous runs, and the current through the dummy load during it.
  void follow(const std::vector<LoadRun>& runs, double dummy_amperes);
  void set_faults(const SensorFaults& faults) { faults_ = faults; }

  /// Counts (24 bit) of the four rig channels at `when`, inside the last step taken in.
  [[nodiscard]] std::array<std::int32_t, 4> rig_counts(double when);
  /// Counts (16 bit) of the three axes at `when`, after the board's own filter and range.
  [[nodiscard]] std::array<std::int16_t, 3> flight_counts(double when);

  /// SI a count.
  [[nodiscard]] double rig_scale(RigChannel channel) const;
  [[nodiscard]] double flight_scale() const;

 private:
  struct Point {
    double when = 0.0;
    std::array<double, 7> value{};  // force, supply, chamber, current, x, y, z
  };
  struct Errors {
    double gain = 0.0, zero = 0.0;
  };
  [[nodiscard]] double at(std::size_t which, double when) const;
  [[nodiscard]] double measured(const SensorScatter& sensor, const Errors& errors, double value);
  static std::int32_t convert(double value, double scale, double low, std::int32_t top);

  Scenario scenario_;
  Random noise_, flight_noise_;
  SensorFaults faults_;
  SecondOrderLag force_;
  FirstOrderLag supply_, chamber_, current_;
  std::array<SecondOrderLag, 3> axes_;
  std::array<Errors, 7> errors_;
  std::array<Point, 8> points_{};
  std::size_t point_count_ = 1;
  std::array<std::int32_t, 4> last_rig_{};
  double filter_keep_, filtered_ = 0.0;
  bool filter_started_ = false;
};

}  // namespace coldstroke::daq
