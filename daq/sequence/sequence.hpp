// SPDX-License-Identifier: GPL-3.0-or-later
//
// The trial sequence as a table: (step, event) -> (step, actions), each with the guard that must hold. Pure: no timer, no port, no
// widget. Time arrives as the event `deadline_passed`; the driver (daq/bench) arms one deadline a step and does what the actions say.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace coldstroke::daq {

enum class Step : std::uint8_t {
  idle, checks, charging, settling, counting, releasing, recording, venting, review, aborting, keep_clear, locked_out
};
inline constexpr std::size_t kSteps = 12;
[[nodiscard]] const char* word(Step step);

/// What a person may ask of the bench.
enum class OperatorRequest : std::uint8_t {
  none,
  begin,        ///< start a trial: run the checks
  charge,       ///< hold: fill the reservoir
  count,        ///< hold: start the countdown to release
  abort,        ///< always possible
  acknowledge,  ///< after keep clear, locked out or review: back to idle
};

/// What can happen. Requests of a person, readings crossing a limit, and time.
enum class SequenceEvent : std::uint8_t {
  begin_requested, charge_requested, count_requested, abort_requested, acknowledged,
  interlock_lost,        ///< one that must hold in this step no longer does
  pressure_in_window,    ///< charging: reached the target
  pressure_steady,       ///< settling: in the window, steady for the settle time
  pressure_out_of_window,///< settling or counting: left the window
  release_confirmed,     ///< the board acknowledged and reports the fast valves open
  release_refused,
  motion_seen,
  pressure_low,          ///< proven below the vented limit on a live sensor
  found_pressurised,     ///< connected to a rig that already holds pressure
  board_vented_itself,   ///< the rig board's own protection acted
  record_complete,       ///< recording time over and the flight board's record read, or given up
  deadline_passed,       ///< the step's own time limit
};
inline constexpr std::size_t kSequenceEvents = 17;
[[nodiscard]] const char* word(SequenceEvent event);

/// What the driver must do, in order.
enum class Action : std::uint8_t {
  open_trial, start_charge, stop_charge, start_release, vent, close_fast_valves_and_vent, mark_hang, mark_aborted, read_back_and_judge, close_trial, alarm,
};
[[nodiscard]] const char* word(Action action);

struct Row {
  Step from;
  SequenceEvent on;
  bool guarded;  ///< only if every interlock of the row's step group holds at this instant
  Step to;
  std::span<const Action> actions;
  std::string_view meaning;  ///< one line for docs/safety.md
};

[[nodiscard]] std::span<const Row> sequence_table();
/// The row that answers, or nullptr: the event is refused in this step, logged, and nothing changes.
[[nodiscard]] const Row* transition(Step from, SequenceEvent on);

}  // namespace coldstroke::daq
