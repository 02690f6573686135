// SPDX-License-Identifier: GPL-3.0-or-later
//
// The trial sequence as a table: (step, event) -> (step, actions), each with the guard that must hold. Pure: no timer, no port,
// no widget. Time arrives as the event `deadline_passed`; the driver (daq/bench) arms one deadline a step and does what the
// actions say.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace coldstroke::daq {

enum class Step : std::uint8_t {
  idle,
  checks,
  charging,
  settling,
  counting,
  releasing,
  recording,
  venting,
  review,
  aborting,
  keep_clear,
  locked_out
};
inline constexpr std::size_t kSteps = 12;
[[nodiscard]] const char* word(Step step);

/// What a person may ask of the bench.
enum class OperatorRequest : std::uint8_t {
  none,
  begin,             ///< start a trial: run the checks
  charge,            ///< hold: fill the reservoir
  count,             ///< hold: start the countdown to release
  abort,             ///< always possible
  acknowledge,       ///< after keep clear, locked out or review: back to idle
  sign_virtual_rig,  ///< virtual rig only: sign every role of the checklist, marked as unattended
};

/// What can happen. Requests of a person, readings crossing a limit, and time.
enum class SequenceEvent : std::uint8_t {
  begin_requested,
  charge_requested,
  count_requested,
  abort_requested,
  acknowledged,
  interlock_lost,       ///< one that must hold in this step no longer does
  live_channel_found,   ///< a firing channel is neither open nor on its registered dummy load, or the board is armed
  pressure_reached,     ///< charging: at the target
  motion_seen,          ///< force or acceleration moved after the release command
  gas_refused,          ///< the board or an interlock said no to the gas command, or no token for a release came
  pressure_low,         ///< proven below the vented limit on a live sensor
  found_pressurised,    ///< a rig that should be vented holds pressure
  board_vented_itself,  ///< the rig board's own protection acted, or it started anew
  vent_slow,            ///< vented slower than 1.5 times the isothermal blowdown of this volume
  lid_due,              ///< recording: the set time since first motion has passed
  deadline_passed,      ///< the step's own time limit
};
inline constexpr std::size_t kSequenceEvents = 16;
[[nodiscard]] const char* word(SequenceEvent event);

/// What the driver must do, in order.
enum class Action : std::uint8_t {
  open_trial,  ///< begin a trial in the archive, reset the detector, start the flight board's memory
  open_lid,
  shut_lid,
  start_charge,  ///< ask for a token, then charge with it
  stop_charge,
  count_aloud,    ///< the screen shows and beeps the seconds to release
  start_release,  ///< ask for a token, then release with it
  make_safe,      ///< shut charge and fast valves, open the vent; repeated until the board reads back so
  mark_aborted,   ///< the trial is kept and not judged
  mark_hang,      ///< commanded, no motion: kept, not judged, the keep-clear wait begins
  judge,          ///< read the flight board's memory, then analyse
  close_trial,
  alarm,
};
[[nodiscard]] const char* word(Action action);

/// `guarded`: the row is taken only if every interlock that the step `to` needs holds at this instant; else the request is
/// refused.
struct Row {
  Step from;
  SequenceEvent on;
  bool guarded;
  Step to;
  std::span<const Action> actions;
  std::string_view meaning;  ///< one line for people
};

/// An event that means nothing in some steps, and why: what is in no row stands here, so that no pair is forgotten.
struct Disregard {
  SequenceEvent on;
  std::uint16_t steps;  ///< bit k: step k
  std::string_view why;
  [[nodiscard]] constexpr bool in(Step step) const { return (steps >> static_cast<unsigned>(step) & 1U) != 0; }
};

[[nodiscard]] std::span<const Row> sequence_table();
[[nodiscard]] std::span<const Disregard> sequence_disregards();
/// The row that answers, or nullptr: the event is refused in this step, logged, and nothing changes.
[[nodiscard]] const Row* transition(Step from, SequenceEvent on);
[[nodiscard]] const Row* transition(std::span<const Row> table, Step from, SequenceEvent on);

/// What an event comes to: the row to take, or nullptr. `guard_holds(to)` tells whether every interlock that `to` needs holds; it
/// is asked for a guarded row only. A deadline whose guard does not hold (the end of a countdown) is taken as an interlock lost:
/// a countdown never waits for an interlock to come back.
template <class Guard>
[[nodiscard]] const Row* answer(std::span<const Row> table, Step from, SequenceEvent on, Guard guard_holds) {
  const Row* row = transition(table, from, on);
  if (row == nullptr || !row->guarded || guard_holds(row->to)) return row;
  return on == SequenceEvent::deadline_passed ? transition(table, from, SequenceEvent::interlock_lost) : nullptr;
}

/// Table and disregards as a page of Markdown with a drawing (Mermaid state diagram), for docs/safety.md.
[[nodiscard]] std::string sequence_drawing();

}  // namespace coldstroke::daq
