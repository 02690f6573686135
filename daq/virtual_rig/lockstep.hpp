// SPDX-License-Identifier: GPL-3.0-or-later
//
// Lock-step: host and virtual rig move one bench time together over a pair of pipes. The bytes of the boards' lines are the same
// as over a serial port; only who waits for whom differs. All numbers little-endian.
//
//   host to rig                                      rig to host
//   u64 advance_to_us   bench time to move to         u64 now_us        bench time reached
//   u32 rig_count       bytes for the rig board       u32 chunk_count
//   u32 flight_count    bytes for the flight board    chunk_count times:
//   rig_count bytes                                     u8 node         0 rig board, 1 flight board
//   flight_count bytes                                  i64 arrival_us  at the host's end of the line
//                                                       u32 count, then count bytes
//                                                     u8 flags          bit 0: rig port is there, bit 1: flight port is there
//
// The rig first puts the host's bytes on the lines (at the time it stands at), then moves on, then answers: one answer a request.
// End of file on the rig's input ends it.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "analysis/result.hpp"
#include "daq/setup/setup.hpp"
#include "daq/virtual_rig/line_model.hpp"

namespace coldstroke::daq {

inline constexpr std::uint32_t kLockstepBytesMax = 1U << 20U;      ///< bytes for one board in one request; more is refused
inline constexpr std::int64_t kLockstepAdvanceMaxUs = 10'000'000;  ///< one request moves time by at most this

struct LockstepRequest {
  std::int64_t advance_to_us = 0;
  std::array<std::vector<std::byte>, 2> bytes;  ///< by Node
  bool operator==(const LockstepRequest&) const = default;
};

struct LockstepReply {
  struct Chunk {
    Node node = Node::rig;
    StampedBytes stamped;
    bool operator==(const Chunk&) const = default;
  };
  std::int64_t now_us = 0;
  std::vector<Chunk> chunks;  ///< by port, in order of arrival within a port
  std::array<bool, 2> port_up{true, true};
  bool operator==(const LockstepReply&) const = default;
};

[[nodiscard]] std::vector<std::byte> encode(const LockstepRequest& request);
[[nodiscard]] std::vector<std::byte> encode(const LockstepReply& reply);

/// Reads exactly as many bytes as asked for; false at the end of the stream.
using ReadExactly = std::function<Result<bool>(std::span<std::byte>)>;
/// Reads one request; false at a clean end before it.
[[nodiscard]] Result<bool> read(const ReadExactly& source, LockstepRequest& request);
[[nodiscard]] Result<bool> read(const ReadExactly& source, LockstepReply& reply);

/// For a file descriptor: waits, at most `limit_seconds` for the next byte (negative: for ever), and goes on after signals. A
/// stream that ends inside is a complaint, before the first byte it is false.
[[nodiscard]] Result<bool> read_exactly(int fd, std::span<std::byte> into, double limit_seconds = -1.0);
/// Raises no SIGPIPE on a socket.
[[nodiscard]] Result<bool> write_all(int fd, std::span<const std::byte> bytes);

}  // namespace coldstroke::daq
