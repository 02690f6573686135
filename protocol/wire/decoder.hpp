// SPDX-License-Identifier: GPL-3.0-or-later
//
// Bytes to messages and back. The decoder is a value fed with spans: any split of the stream gives the same messages.
// Framing and checksum are the board's own C (protocol/board/frame.h); no byte is trusted.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "protocol/board/frame.h"
#include "protocol/wire/message.hpp"

namespace coldstroke::wire {

/// Everything that can be wrong with what a line brings. Counted by kind, never thrown.
enum class FrameFault : std::uint8_t {
  too_long, bad_stuffing, too_short, bad_checksum,  // the frame
  unknown_type,                                     // well-formed, from a newer minor version: skipped
  bad_payload,                                      // right checksum, but the payload breaks its table
  lost, repeated, late,                             // by sequence number
};
inline constexpr std::size_t kFrameFaultKinds = 9;

struct LineCounts {
  std::uint64_t bytes = 0, frames = 0;
  std::array<std::uint64_t, kFrameFaultKinds> faults{};
  [[nodiscard]] std::uint64_t fault(FrameFault kind) const { return faults[static_cast<std::size_t>(kind)]; }
  bool operator==(const LineCounts&) const = default;
};

/// A word for each fault kind, for people: "damaged (checksum)", "lost", ...
[[nodiscard]] const char* word(FrameFault fault);

/// One direction of one line. Feed bytes as they come; messages are appended to `out` in order.
/// A frame repeated by the line (same sequence number as one of the last 8 and not newer) is counted and NOT delivered twice;
/// a gap in sequence numbers adds the missing number to `lost`; a frame older than the newest by at most 64 is `late` and delivered.
class Decoder {
 public:
  void feed(std::span<const std::byte> bytes, std::vector<Message>& out);
  [[nodiscard]] const LineCounts& counts() const { return counts_; }
  /// Forget the partial frame and the sequence position (port opened anew); counts go on.
  void restart();

 private:
  void deliver(const cs_frame& frame, std::vector<Message>& out);
  [[nodiscard]] bool in_order(std::uint16_t sequence);
  cs_reader reader_{};
  LineCounts counts_;
  bool have_sequence_ = false;
  std::uint16_t newest_ = 0;
  std::uint64_t seen_ = 0;  // bit k: newest_ - k has been seen
};

/// Numbers and frames messages of one direction of one line.
class Encoder {
 public:
  /// Appends the whole frame, delimiter included.
  void append(const Message& message, std::vector<std::byte>& out);

 private:
  std::uint16_t sequence_ = 0;
};

/// Payload of one message without framing (tests, golden frames).
[[nodiscard]] std::vector<std::byte> payload(const Message& message);
[[nodiscard]] Type type_of(const Message& message);

}  // namespace coldstroke::wire
