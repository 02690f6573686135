// SPDX-License-Identifier: GPL-3.0-or-later
//
// A conversation with the flight board alone: no rig board is open, so nothing can be charged, vented or released meanwhile.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "daq/setup/setup.hpp"
#include "daq/virtual_rig/process.hpp"

namespace coldstroke::daq {

/// One side of it, without port, thread or clock: bytes and times go in, bytes come out. Times from the start of the talk.
class BoardTalk {
 public:
  BoardTalk() = default;
  BoardTalk(const BoardTalk&) = delete;
  BoardTalk& operator=(const BoardTalk&) = delete;
  virtual ~BoardTalk() = default;
  virtual void receive(std::span<const std::byte> bytes, std::int64_t now_us) = 0;
  /// What to send now, asked every 4 ms. A complaint ends the talk.
  [[nodiscard]] virtual Result<std::vector<std::byte>> turn(std::int64_t now_us) = 0;
  [[nodiscard]] virtual bool over() const = 0;
};

struct TalkEnd {
  std::int64_t now_us = 0;
  std::string port_lost;  ///< why the port was lost, the last time; empty: never
};

/// Real time, over a serial port or pseudo-terminal.
[[nodiscard]] Result<TalkEnd> talk_over_port(const PortSetup& port, BoardTalk& talk);
/// Simulated time, as fast as the machine goes.
[[nodiscard]] Result<TalkEnd> talk_in_lockstep(VirtualRigProcess& rig, BoardTalk& talk);
/// A virtual rig of its own for the time of the talk, in simulated or in real time.
[[nodiscard]] Result<TalkEnd> talk_to_virtual_board(const VirtualRigOptions& options, bool simulated_time, BoardTalk& talk,
                                                    const VirtualRigProgram& program = {});

}  // namespace coldstroke::daq
