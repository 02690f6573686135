// SPDX-License-Identifier: GPL-3.0-or-later
//
// Interlocks: a pure function of readings, limits and the step. What blocks and what the screen lists is the same value.
// These are operational interlocks: they reduce mistakes. They are not a safety-rated function (docs/safety.md).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daq/sequence/readings.hpp"
#include "daq/sequence/sequence.hpp"

namespace coldstroke::daq {

struct Interlock {
  std::string name;
  std::string reading, limit, remedy;
  bool holds = false;
  bool fresh = true;
  double fresh_seconds = kNever;  ///< a reading older than this counts as absent; kNever: it is always present
  bool bypassable = false;        ///< a person may give a reason and go on
  std::string bypass_reason;      ///< that reason, if one was given
  [[nodiscard]] bool lets_pass() const { return holds || (bypassable && !bypass_reason.empty()); }
};

/// The interlocks that matter for one thing to happen or to go on.
struct InterlockList {
  std::vector<Interlock> lines;
  [[nodiscard]] bool all_hold() const;                ///< each holds, or is bypassed with a reason
  [[nodiscard]] const Interlock* first_open() const;  ///< nullptr if all hold
  [[nodiscard]] const Interlock* find(std::string_view name) const;
};

/// What must hold for a guarded row into `to` to be taken. Also what the screen lists while that row is the next one.
[[nodiscard]] InterlockList interlocks_to_enter(Step to, const Readings& readings, const Setup& setup);
/// What must go on holding while in `step`; losing one is `interlock_lost`.
[[nodiscard]] InterlockList interlocks_while(Step step, const Readings& readings, const Setup& setup);
/// True if a firing channel is seen live, freshly: neither open nor within 10 % of its registered dummy load, or the arm
/// switch is on while the setup does not put every channel on a dummy load, or current flows through the dummy load although the
/// detector is idle. A registered load that reads open is live only while the arm switch is on, else an open interlock. A stale
/// or absent reading is not "live", it is an open interlock.
[[nodiscard]] bool live_channel(const Readings& readings, const Setup& setup);
/// The rig board's fault bits in words, "over-pressure, a valve did not follow". Empty: none.
[[nodiscard]] std::string fault_words(std::uint16_t faults);
/// "2 of 2 open", "channel 1 reads 0.4 ohm" ...
[[nodiscard]] std::string firing_sentence(const Readings& readings, const Setup& setup);
/// Whether the supply pressure is known: fresh, inside its range, not frozen.
[[nodiscard]] bool pressure_known(const Readings& readings, const Setup& setup);
/// Whether supply and chamber pressure are known and below the vented limit.
[[nodiscard]] bool proven_low(const Readings& readings, const Setup& setup);
/// Names of the interlocks that a person may bypass with a reason.
[[nodiscard]] bool bypass_exists(std::string_view interlock);

/// The lists as a Markdown table with the limits of `setup`, for docs/safety.md: what each line reads, what it wants, which step
/// it guards, and where losing it leads at once.
[[nodiscard]] std::string interlock_table(const Setup& setup);

}  // namespace coldstroke::daq
