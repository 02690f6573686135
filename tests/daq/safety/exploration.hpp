// SPDX-License-Identifier: GPL-3.0-or-later
//
// Exhaustive exploration: every reachable combination of sequence step, what the host has under way, board state and interlock
// state, under every event in every order, breadth first to closure.
//
// The sequence table and the interlocks are the program's own. The board is a small model of protocol/board/rig_board.c;
// board_model_test.cpp holds the two against each other state by state. The world (everything people, sensors and cables do) may
// change in any way at any time: no order and no physics is assumed, so what holds here holds for any rig.
#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <string>

#include "daq/sequence/interlocks.hpp"
#include "daq/sequence/sequence.hpp"
#include "tests/daq/safety/board_model.hpp"

namespace coldstroke::daq {

/// The interlock state: what readings say, each value one that the interlocks tell from the others. Interlocks that are alike in
/// all that matters here (when they are asked, whether losing them aborts, whether they can be bypassed) share one value.
struct World {
  bool link = true;  ///< frames pass between host and rig board, both ways
  bool stop_loop_closed = true;
  bool key_in = true, lid_open = true;
  enum class Firing : std::uint8_t { as_registered, live, stale } firing = Firing::as_registered;
  bool detector_idle = true;
  enum class Pressure : std::uint8_t { low, between, window, window_steady, high, over, unknown } pressure = Pressure::low;
  enum class Papers : std::uint8_t { in_order, open, bypassed } papers = Papers::in_order;  ///< bypassable: calibration and such
  bool checklist_signed = true;                                                             ///< not bypassable, blocks only
  bool alive = true;                                                                        ///< archive and every channel
  bool waited = true;                                                                       ///< the keep-clear wait has run down
  bool operator==(const World&) const = default;
};
inline constexpr std::uint32_t kWorlds = 2 * 2 * 2 * 2 * 3 * 2 * 7 * 3 * 2 * 2 * 2;
[[nodiscard]] World world_of(std::uint32_t number);
/// The readings that a bench would make of this world and board.
[[nodiscard]] Readings readings_of(const World& world, const BoardModel& board, const Setup& setup);

struct Host {
  Step step = Step::idle;
  /// A gas command under way: token asked for, or granted and on its way to the host.
  enum class Gas : std::uint8_t { none, charge_asked, charge_granted, release_asked, release_granted } gas = Gas::none;
  bool want_safe = true;
  bool operator==(const Host&) const = default;
};

struct Exploration {
  std::uint64_t states = 0, transitions = 0;
  std::uint64_t valve_openings = 0;                 ///< transitions in which a charge or fast valve opens
  std::map<std::string, std::uint64_t> checked;     ///< by property: how often it was looked at
  std::map<std::string, std::uint64_t> violations;  ///< by property: how often it did not hold
  std::string first_violation;
};

/// Explores with `table` instead of the program's, so that a broken row can be shown to be found. Stops early once a property is
/// violated if `stop_at_violation`.
[[nodiscard]] Exploration explore(std::span<const Row> table, const Setup& setup, bool stop_at_violation = false);

}  // namespace coldstroke::daq
