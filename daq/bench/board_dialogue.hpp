// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "daq/stream/node_session.hpp"
#include "protocol/wire/decoder.hpp"

namespace coldstroke::daq {

/// What the host says to one board: who are you, heartbeats, clock requests, commands. Pure: time is passed in, bytes are taken
/// out.
class BoardDialogue {
 public:
  BoardDialogue() = default;

  /// The port is open: a new session begins.
  void opened(HostTime now, std::uint32_t session);
  void closed();
  /// Sends what is due. `compatible`: the board is known; until then Hello is repeated.
  void tick(HostTime now, bool compatible);
  /// Introductions again, and clock requests in quick succession: at the start of a trial, so that its record stands alone.
  void introduce(HostTime now);

  /// Queues a command; returns its id, which the acknowledgement echoes.
  std::uint16_t command(wire::CommandCode code, std::uint32_t argument = 0, std::uint32_t token = 0);
  void send(const wire::Message& message);
  /// Bytes to write now; empties the queue.
  std::vector<std::byte> take_output();

 private:
  bool open_ = false;
  wire::Encoder encoder_;
  std::vector<std::byte> output_;
  std::uint32_t session_ = 0, heartbeats_ = 0, clock_requests_ = 0;
  std::uint16_t command_id_ = 0;
  int quick_clock_requests_ = 0;
  HostTime hello_due_{}, heartbeat_due_{}, clock_due_{};
};

}  // namespace coldstroke::daq
