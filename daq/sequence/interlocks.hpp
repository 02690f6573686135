// SPDX-License-Identifier: GPL-3.0-or-later
//
// Interlocks: a pure function of readings, limits and the step. What blocks and what the screen lists is the same value.
// These are operational interlocks: they reduce mistakes. They are not a safety-rated function (docs/safety.md).
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "daq/sequence/sequence.hpp"
#include "daq/setup/setup.hpp"

namespace coldstroke::daq {

inline constexpr double kNever = std::numeric_limits<double>::infinity();

/// Everything the interlocks look at, with ages in seconds (kNever: not seen yet). A missing or stale input counts as false.
struct Readings {
  double rig_age = kNever, flight_age = kNever;            ///< since the newest state frame of each board
  bool rig_compatible = false, flight_compatible = false;  ///< right kind of board, protocol version understood
  std::uint16_t rig_inputs = 0, rig_outputs = 0, rig_readback = 0, rig_faults = 0;
  double pressure_pascals = 0.0, pressure_age = kNever;  ///< supply pressure, gauge, calibrated
  bool pressure_saturated = false;
  double pressure_slope = 0.0;  ///< Pa/s over the settle time
  double steady_seconds = 0.0;  ///< how long the slope has been within its limit
  bool armed_switch = false;
  std::vector<std::uint32_t> milliohms;
  bool detector_idle = false;
  bool archive_writable = false;
  std::string archive_trouble;
  std::optional<double> alignment_uncertainty_seconds;
  double keep_clear_remaining_seconds = 0.0;
  bool boards_restarted = false;  ///< a board was reset since the trial was opened
  bool judged = true;             ///< no analysis is still running
};

struct Interlock {
  std::string name;
  std::string reading, limit, remedy;
  bool holds = false;
  bool fresh = true;
};

/// The interlocks that matter in `step`: those that must hold to leave it by a guarded row (`to_leave`), and those that abort
/// when lost.
struct InterlockList {
  std::vector<Interlock> lines;
  [[nodiscard]] bool all_hold() const;
  [[nodiscard]] const Interlock* first_open() const;  ///< nullptr if all hold
};

/// What must hold for a guarded row into `to` to be taken. Also what the screen lists while that row is the next one.
[[nodiscard]] InterlockList interlocks_to_enter(Step to, const Readings& readings, const Setup& setup);
/// What must go on holding while in `step`; losing one is `interlock_lost`.
[[nodiscard]] InterlockList interlocks_while(Step step, const Readings& readings, const Setup& setup);
/// True if a firing channel is seen live, freshly: neither open nor within 10 % of its registered dummy load, or the arm
/// switch is on while the setup does not put every channel on a dummy load. A stale or absent reading is not "live", it is an
/// open interlock.
[[nodiscard]] bool live_channel(const Readings& readings, const Setup& setup);
/// "2 of 2 open", "channel 1 reads 0.4 ohm" ...
[[nodiscard]] std::string firing_sentence(const Readings& readings, const Setup& setup);

}  // namespace coldstroke::daq
