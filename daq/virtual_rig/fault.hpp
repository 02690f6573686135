// SPDX-License-Identifier: GPL-3.0-or-later
//
// Faults the virtual rig can show, by name. What each one does is told in the table in fault.cpp and in docs/virtual-rig.md.
#pragma once

#include <cstdint>
#include <limits>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "analysis/result.hpp"

namespace coldstroke::daq {

enum class FaultKind : std::uint8_t {
  lost_frames,
  garbage_bytes,
  bit_flips,
  rig_link_drop,
  link_drop_at_separation,
  board_silent,
  boards_swapped,
  protocol_newer_major,
  wrong_firmware_identity,
  clock_jump,
  brown_out_reset,
  stuck_fast_valve,
  fast_valve_stuck_open,
  hang,
  slow_vent,
  blocked_vent,
  leaking_reservoir,
  regulator_creep,
  saturated_force,
  frozen_force,
  saturated_acceleration,
  unplugged_sensor,
  armed_board,
  continuity_present,
  wrong_dummy_load,
  burnt_series_resistor,
  detector_early,
  detector_late,
  detector_never,
  stop_loop_opens,
  key_removed,
  readback_stuck
};

/// One fault and when it is there. Times count from the moment the rig board first enters `step` in that ejection; without a step
/// from the moment the vehicle is seated for it (ejection 1: power-up).
struct Fault {
  FaultKind kind = FaultKind::lost_frames;
  int ejection = 0;                  ///< 1, 2, ...; 0: every one
  std::optional<std::uint8_t> step;  ///< CS_RIG_*: vented, charging, holding, released
  double after_seconds = 0.0;
  double lasting_seconds = std::numeric_limits<double>::infinity();
  std::map<std::string, double, std::less<>> numbers;  ///< as the table of kinds allows
  std::map<std::string, std::string, std::less<>> words;
  bool operator==(const Fault&) const = default;

  [[nodiscard]] double number(std::string_view key) const;  ///< given, else the table's default
  [[nodiscard]] std::string word(std::string_view key) const;
};

struct FaultNumber {
  std::string_view key;
  double normal, low, high;
};
struct FaultWord {
  std::string_view key, normal, allowed;  ///< allowed: words apart by '|', empty: any
};
/// One row a fault kind.
struct FaultRow {
  FaultKind kind;
  std::string_view name, meaning;
  std::span<const FaultNumber> numbers;
  std::span<const FaultWord> words;
};
[[nodiscard]] std::span<const FaultRow> fault_table();
[[nodiscard]] const FaultRow& row(FaultKind kind);

/// From "NAME" or "NAME,key=value,key=value" as a command line gives it.
[[nodiscard]] Result<Fault> parse_fault(std::string_view text);
/// Sets one key of a fault; complains with what is allowed. `where` names the place for the complaint.
[[nodiscard]] Result<bool> set_fault_number(Fault& fault, std::string_view key, double value, const std::string& where);
[[nodiscard]] Result<bool> set_fault_word(Fault& fault, std::string_view key, std::string_view value, const std::string& where);
[[nodiscard]] Result<FaultKind> fault_named(std::string_view name, const std::string& where);

}  // namespace coldstroke::daq
