// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/fault.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <charconv>
#include <cmath>

#include "protocol/board/rig_board.h"

namespace coldstroke::daq {
namespace {

constexpr std::string_view kNodes = "rig|flight|both";
constexpr FaultNumber kLoss[] = {{"probability", 0.01, 0.0, 1.0}};
constexpr FaultNumber kGarbage[] = {{"bursts_per_second", 5.0, 0.0, 1000.0}, {"burst_bytes", 40.0, 1.0, 4096.0}};
constexpr FaultNumber kFlips[] = {{"probability", 0.0001, 0.0, 1.0}};
constexpr FaultWord kNodeRig[] = {{"node", "rig", kNodes}};
constexpr FaultWord kNodeFlight[] = {{"node", "flight", kNodes}};
constexpr FaultWord kNodeDirection[] = {{"node", "rig", kNodes}, {"direction", "to_host", "to_host|to_board|both"}};
constexpr FaultWord kVersion[] = {{"node", "flight", kNodes}, {"version", "0.0.9-other", ""}};
constexpr FaultNumber kJump[] = {{"jump_seconds", 5.0, -1000.0, 1000.0}};
constexpr FaultNumber kBrownOut[] = {{"off_seconds", 0.15, 0.0, 60.0}};
constexpr FaultNumber kValve[] = {{"valve", 1.0, 1.0, 2.0}};
constexpr FaultNumber kSlow[] = {{"factor", 0.1, 0.0, 1.0}};
constexpr FaultNumber kLeak[] = {{"conductance_dm3_per_s_bar", 0.01, 0.0, 10.0}};
constexpr FaultNumber kCreep[] = {{"litres_per_minute", 5.0, 0.0, 500.0}, {"lock_up_bar", 14.0, 0.0, 50.0}};
constexpr FaultNumber kForceLimit[] = {{"rail_newtons", 500.0, 0.0, 1.0e6}};
constexpr FaultNumber kAxisLimit[] = {{"range_g", 16.0, 0.1, 1000.0}};
constexpr FaultNumber kUnplugged[] = {{"fraction_of_range", 0.02, -1.0, 1.0}};
constexpr FaultWord kChannel[] = {{"channel", "force", "force|supply_pressure|chamber_pressure|dummy_current|acceleration"}};
constexpr FaultNumber kContinuity[] = {{"ohms", 1.6, 0.0, 1.0e6}, {"channel", 2.0, 1.0, 2.0}};
constexpr FaultNumber kWrongLoad[] = {{"ohms", 4.7, 0.0, 1.0e6}};
constexpr FaultNumber kBurnt[] = {{"ohms", 47.0, 0.0, 1.0e6}};
constexpr FaultNumber kHammer[] = {{"hammer_g", 8.0, 0.0, 1000.0}, {"threshold_g", 2.0, 0.01, 1000.0}};
constexpr FaultNumber kLate[] = {{"threshold_g", 65.0, 0.01, 1000.0}};
constexpr FaultNumber kNever[] = {{"window_seconds", 0.25, 0.0005, 0.256}};
constexpr FaultNumber kReadback[] = {{"output", 2.0, 1.0, 16.0}};

constexpr std::array kTable{
    FaultRow{FaultKind::lost_frames, "lost_frames", "whole frames of a board vanish on the line, each with this probability",
             kLoss, kNodeRig},
    FaultRow{FaultKind::garbage_bytes, "garbage_bytes", "bursts of random bytes between a board's own", kGarbage, kNodeRig},
    FaultRow{FaultKind::bit_flips, "bit_flips", "bits turn over on the line, one in a byte with this probability", kFlips,
             kNodeDirection},
    FaultRow{FaultKind::rig_link_drop, "rig_link_drop", "the rig board's cable is out: no byte passes either way", {}, {}},
    FaultRow{FaultKind::link_drop_at_separation,
             "link_drop_at_separation",
             "the flight board's cable stays behind at separation (normal; for scenarios with cable_drops = false)",
             {},
             {}},
    FaultRow{FaultKind::board_silent, "board_silent", "the board neither hears nor answers", {}, kNodeFlight},
    FaultRow{FaultKind::boards_swapped, "boards_swapped", "the two cables are in each other's port", {}, {}},
    FaultRow{FaultKind::protocol_newer_major,
             "protocol_newer_major",
             "the board's identity names a newer major protocol version",
             {},
             kNodeFlight},
    FaultRow{FaultKind::wrong_firmware_identity,
             "wrong_firmware_identity",
             "the board carries another firmware version",
             {},
             kVersion},
    FaultRow{FaultKind::clock_jump, "clock_jump", "the board's clock jumps once", kJump, kNodeFlight},
    FaultRow{FaultKind::brown_out_reset, "brown_out_reset",
             "the board's supply dips: it is off for a moment, starts anew, its memory is lost and its clock starts at zero",
             kBrownOut, kNodeFlight},
    FaultRow{FaultKind::stuck_fast_valve,
             "stuck_fast_valve",
             "this fast valve stays shut; its read-back follows the coil",
             kValve,
             {}},
    FaultRow{FaultKind::fast_valve_stuck_open,
             "fast_valve_stuck_open",
             "this fast valve stands open; its read-back tells it",
             kValve,
             {}},
    FaultRow{FaultKind::hang, "hang", "the vehicle is jammed in the tube: gas, but no motion", {}, {}},
    FaultRow{FaultKind::slow_vent, "slow_vent", "the vent passes only this fraction", kSlow, {}},
    FaultRow{FaultKind::blocked_vent, "blocked_vent", "the vent passes nothing, though it reads back open", {}, {}},
    FaultRow{FaultKind::leaking_reservoir, "leaking_reservoir", "gas leaks from the reservoir to ambient", kLeak, {}},
    FaultRow{FaultKind::regulator_creep,
             "regulator_creep",
             "the regulator creeps up and gas passes the shut charge valve",
             kCreep,
             {}},
    FaultRow{FaultKind::saturated_force,
             "saturated_force",
             "the force amplifier's rail: it gives out no more than this force",
             kForceLimit,
             {}},
    FaultRow{FaultKind::frozen_force, "frozen_force", "the force channel repeats its last count", {}, {}},
    FaultRow{FaultKind::saturated_acceleration,
             "saturated_acceleration",
             "an accelerometer of this smaller range: the trace has flat tops",
             kAxisLimit,
             {}},
    FaultRow{FaultKind::unplugged_sensor, "unplugged_sensor", "the channel reads a plausible constant without noise", kUnplugged,
             kChannel},
    FaultRow{FaultKind::armed_board, "armed_board", "the flight board's arm switch is on", {}, {}},
    FaultRow{FaultKind::continuity_present,
             "continuity_present",
             "something with this resistance is on a firing channel",
             kContinuity,
             {}},
    FaultRow{FaultKind::wrong_dummy_load, "wrong_dummy_load", "another resistor than the registered one", kWrongLoad, {}},
    FaultRow{FaultKind::burnt_series_resistor,
             "burnt_series_resistor",
             "the series resistor of the firing channel has this value: continuity looks good, the current is too small",
             kBurnt,
             {}},
    FaultRow{FaultKind::detector_early,
             "detector_early",
             "a touchy setting (sustained 2 ms), and the valves' hammer at release shakes the vehicle: decided before motion",
             kHammer,
             {}},
    FaultRow{FaultKind::detector_late,
             "detector_late",
             "a threshold above the stroke's peak (sustained 2 ms, no deadline on the board): only the landing trips it",
             kLate,
             {}},
    FaultRow{FaultKind::detector_never,
             "detector_never",
             "a moving mean far longer than the stroke: it never reaches the threshold",
             kNever,
             {}},
    FaultRow{FaultKind::stop_loop_opens, "stop_loop_opens", "the emergency-stop loop opens", {}, {}},
    FaultRow{FaultKind::key_removed, "key_removed", "the release key is out", {}, {}},
    FaultRow{FaultKind::readback_stuck,
             "readback_stuck",
             "this bit of the read-back (1, 2, 4, 8, 16) stays as it was at the start",
             kReadback,
             {}},
};

const FaultNumber* number_row(const FaultRow& of, std::string_view key) {
  const auto found = std::find_if(of.numbers.begin(), of.numbers.end(), [key](const FaultNumber& n) { return n.key == key; });
  return found == of.numbers.end() ? nullptr : &*found;
}

const FaultWord* word_row(const FaultRow& of, std::string_view key) {
  const auto found = std::find_if(of.words.begin(), of.words.end(), [key](const FaultWord& w) { return w.key == key; });
  return found == of.words.end() ? nullptr : &*found;
}

std::string keys_of(const FaultRow& of) {
  std::string out = "ejection, step, after_seconds, lasting_seconds";
  for (const FaultNumber& n : of.numbers) out += ", " + std::string(n.key);
  for (const FaultWord& w : of.words) out += ", " + std::string(w.key);
  return out;
}

bool one_of(std::string_view allowed, std::string_view value) {
  if (allowed.empty()) return value.size() <= 32;
  while (true) {
    const std::size_t bar = allowed.find('|');
    if (allowed.substr(0, bar) == value) return true;
    if (bar == std::string_view::npos) return false;
    allowed.remove_prefix(bar + 1);
  }
}

Result<bool> out_of_range(std::string_view key, const std::string& where, double low, double high) {
  return complain("The value of " + std::string(key) + " is out of range.", where,
                  "Give a number from " + std::to_string(low) + " to " + std::to_string(high) + ".");
}

}  // namespace

std::span<const FaultRow> fault_table() { return kTable; }

const FaultRow& row(FaultKind kind) {
  const auto found = std::find_if(kTable.begin(), kTable.end(), [kind](const FaultRow& r) { return r.kind == kind; });
  assert(found != kTable.end());
  return *found;
}

double Fault::number(std::string_view key) const {
  if (const auto found = numbers.find(key); found != numbers.end()) return found->second;
  const FaultNumber* given = number_row(row(kind), key);
  assert(given != nullptr);
  return given->normal;
}

std::string Fault::word(std::string_view key) const {
  if (const auto found = words.find(key); found != words.end()) return found->second;
  const FaultWord* given = word_row(row(kind), key);
  assert(given != nullptr);
  return std::string{given->normal};
}

Result<FaultKind> fault_named(std::string_view name, const std::string& where) {
  for (const FaultRow& r : kTable)
    if (r.name == name) return r.kind;
  std::string all;
  for (const FaultRow& r : kTable) all += (all.empty() ? "" : ", ") + std::string(r.name);
  return complain("No fault is named \"" + std::string(name) + "\".", where, "Use one of: " + all + ".");
}

Result<bool> set_fault_number(Fault& fault, std::string_view key, double value, const std::string& where) {
  if (key == "ejection") {
    if (!(value >= 0.0 && value <= 1.0e6) || value != std::floor(value)) return out_of_range(key, where, 0.0, 1.0e6);
    fault.ejection = static_cast<int>(value);
    return true;
  }
  if (key == "after_seconds" || key == "lasting_seconds") {
    if (!(value >= 0.0)) return out_of_range(key, where, 0.0, 1.0e9);
    (key == "after_seconds" ? fault.after_seconds : fault.lasting_seconds) = value;
    return true;
  }
  const FaultRow& of = row(fault.kind);
  const FaultNumber* given = number_row(of, key);
  if (given == nullptr)
    return complain("The fault " + std::string(of.name) + " has no number \"" + std::string(key) + "\".", where,
                    "It may have: " + keys_of(of) + ".");
  if (!(value >= given->low && value <= given->high)) return out_of_range(key, where, given->low, given->high);
  fault.numbers[std::string(key)] = value;
  return true;
}

Result<bool> set_fault_word(Fault& fault, std::string_view key, std::string_view value, const std::string& where) {
  if (key == "step") {
    constexpr std::array<std::string_view, 4> kSteps{"vented", "charging", "holding", "released"};
    const auto found = std::find(kSteps.begin(), kSteps.end(), value);
    if (found == kSteps.end())
      return complain("The rig board has no step \"" + std::string(value) + "\".", where,
                      "Use vented, charging, holding or released.");
    fault.step = static_cast<std::uint8_t>(found - kSteps.begin());
    return true;
  }
  const FaultRow& of = row(fault.kind);
  const FaultWord* given = word_row(of, key);
  if (given == nullptr)
    return complain("The fault " + std::string(of.name) + " has no word \"" + std::string(key) + "\".", where,
                    "It may have: " + keys_of(of) + ".");
  if (!one_of(given->allowed, value))
    return complain("\"" + std::string(value) + "\" is not allowed for " + std::string(key) + ".", where,
                    "Use one of: " + std::string(given->allowed.empty() ? "up to 32 characters" : given->allowed) + ".");
  fault.words[std::string(key)] = std::string(value);
  return true;
}

namespace {

/// "key=value" into the fault: as a number where the fault has such a number, else as a word.
Result<bool> set_from_text(Fault& fault, std::string_view part, const std::string& where) {
  const std::size_t equals = part.find('=');
  if (equals == std::string_view::npos)
    return complain("\"" + std::string(part) + "\" is not key=value.", where, "Write NAME,key=value,key=value.");
  const std::string_view key = part.substr(0, equals), value = part.substr(equals + 1);
  if (key == "step" || word_row(row(fault.kind), key) != nullptr) return set_fault_word(fault, key, value, where);
  double number = 0.0;
  const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), number);
  if (error != std::errc{} || end != value.data() + value.size())
    return complain("\"" + std::string(value) + "\" is not a number.", where, "Give " + std::string(key) + " as a plain number.");
  return set_fault_number(fault, key, number, where);
}

}  // namespace

Result<Fault> parse_fault(std::string_view text) {
  const std::string where = "fault \"" + std::string(text) + "\"";
  std::size_t comma = text.find(',');
  const Result<FaultKind> kind = fault_named(text.substr(0, comma), where);
  if (!kind) return tl::unexpected(kind.error());
  Fault fault;
  fault.kind = *kind;
  while (comma != std::string_view::npos) {
    text.remove_prefix(comma + 1);
    comma = text.find(',');
    if (const Result<bool> set = set_from_text(fault, text.substr(0, comma), where); !set) return tl::unexpected(set.error());
  }
  return fault;
}

}  // namespace coldstroke::daq
