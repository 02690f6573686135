// SPDX-License-Identifier: GPL-3.0-or-later
//
// The virtual rig: physics, sensors, and both boards running their own C code, behind two serial lines. Pure: no thread, no
// clock, no file. Time is bench time in microseconds and moves only when told to. Same scenario, seed and calls: same bytes.
//
// One ejection after another without help: the vehicle stands seated with its cable on; the host charges and releases; at
// separation the cable stays behind and the flight link is silent; climb, fall, landing; once the rig is vented and
// recover_seconds have passed a person seats the vehicle again and puts the cable back on. Resetting the detector is the host's
// work.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <vector>

#include "daq/setup/setup.hpp"
#include "daq/virtual_rig/board_nodes.hpp"
#include "daq/virtual_rig/fault_schedule.hpp"
#include "daq/virtual_rig/line_model.hpp"
#include "daq/virtual_rig/lockstep.hpp"
#include "daq/virtual_rig/rig_physics.hpp"
#include "daq/virtual_rig/scenario.hpp"
#include "daq/virtual_rig/sensor_bank.hpp"
#include "daq/virtual_rig/truth.hpp"

namespace coldstroke::daq {

/// What the rig board does and what its valves do, seen from beside the rig.
struct RigBoardState {
  std::uint8_t step = 0;                                ///< CS_RIG_VENTED ...
  std::uint16_t outputs = 0, readback = 0, faults = 0;  ///< CS_VALVE_*, CS_FAULT_*
  bool operator==(const RigBoardState&) const = default;
};

class VirtualRig {
 public:
  VirtualRig(const Scenario& scenario, std::uint64_t seed);

  /// The host writes to the port of `node` now; the bytes reach the board after the line's latency.
  void host_bytes(Node node, std::span<const std::byte> bytes);
  /// Moves bench time on; a time before now does nothing.
  void advance_to(std::int64_t bench_us);
  [[nodiscard]] std::int64_t now_us() const { return now_ns_ / 1000; }
  /// What has arrived at the host's end of this port by now and was not taken before.
  [[nodiscard]] std::vector<StampedBytes> take(Node node);
  /// False while the port itself is gone: only the flight port, and only with separation = "hang_up".
  [[nodiscard]] bool port_up(Node node) const;

  /// Stories of ejections that are over, in order, each once.
  [[nodiscard]] std::vector<EjectionTruth> take_truth();
  /// The same for one under way that has at least been released or moved, as far as it got: for the end of a run.
  [[nodiscard]] std::optional<EjectionTruth> unfinished_truth() const;

  /// For tests and displays of the virtual rig itself.
  [[nodiscard]] RigBoardState rig_board() const {
    return {rig_.rig_step(), rig_.outputs(), rig_inputs().readback, rig_.faults()};
  }
  [[nodiscard]] const RigPhysics& physics() const { return physics_; }
  [[nodiscard]] const Scenario& scenario() const { return scenario_; }

 private:
  enum class Due : std::uint8_t { rig_sample, flight_sample, housekeeping, rig_bytes, flight_bytes, rig_power, flight_power };
  struct Next {
    std::int64_t ns = std::numeric_limits<std::int64_t>::max();
    Due what = Due::housekeeping;
  };
  [[nodiscard]] Next next() const;
  void happen(const Next& next);
  void sample_rig();
  void sample_flight(std::int64_t at_ns);
  void housekeeping(std::int64_t at_ns);
  void deliver(Node node, std::int64_t at_ns);
  void update_faults(std::int64_t at_ns);
  void switch_off(NodeHardware& node, double seconds, std::int64_t at_ns);
  void after_rig(std::int64_t at_ns);
  void step_physics();
  void detector_decided(std::int64_t at_ns);
  [[nodiscard]] double dummy_amperes(double when) const;
  [[nodiscard]] cs_rig_inputs rig_inputs() const;
  [[nodiscard]] cs_flight_inputs flight_inputs() const;
  [[nodiscard]] double load_ohms() const;
  [[nodiscard]] EjectionTruth truth_of(const EjectionStory& story) const;
  [[nodiscard]] NodeHardware& hardware(Node node) { return node == Node::rig ? rig_.hardware : flight_.hardware; }
  [[nodiscard]] Node board_behind(Node port) const;

  Scenario scenario_;
  std::uint64_t seed_;
  RigPhysics physics_;
  SensorBank sensors_;
  RigNode rig_;
  FlightNode flight_;
  FaultSchedule schedule_;
  FaultsInForce faults_;
  std::int64_t now_ns_ = 0, physics_ns_ = 0, housekeeping_ns_ = 0;
  std::uint16_t outputs_ = 0;
  std::optional<double> pulse_start_;  ///< of the firing channel's current, bench seconds
  std::uint32_t decisions_seen_ = 0;
  std::vector<LoadRun> runs_;
  std::vector<EjectionTruth> finished_;
};

/// One lock-step request answered: bytes in, time on, chunks out.
[[nodiscard]] LockstepReply exchange(VirtualRig& rig, const LockstepRequest& request);

}  // namespace coldstroke::daq
