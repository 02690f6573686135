// SPDX-License-Identifier: GPL-3.0-or-later
//
// Bytes to messages and back. The decoder is a value fed with spans: any split of the stream gives the same messages.
// Framing and checksum are the board's own C (protocol/board/frame.h); no byte is trusted.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "protocol/board/frame.h"
#include "protocol/wire/message.hpp"

namespace coldstroke::wire {

/// Everything that can be wrong with what a line brings. Counted by kind, never thrown.
enum class FrameFault : std::uint8_t {
  too_long,
  bad_stuffing,
  too_short,
  bad_checksum,  // the frame
  unknown_type,  // well-formed, from a newer minor version: skipped
  bad_payload,   // right checksum, but the payload breaks its table
  lost,
  repeated,
  late,  // by sequence number
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

/// One direction of one line. Feed bytes as they come; messages are appended to `out` in order of arrival.
///
/// By sequence number, of every frame with a right checksum, unknown and malformed ones included:
///  - a gap of up to kGapMax adds the missing frames to `lost` (so a damaged frame counts once as damaged, once as lost);
///  - one of the newest 64 that came before is `repeated` and NOT delivered again;
///  - one of the newest 64 that did not come before is `late` and delivered; if it had been counted as lost, it no longer is;
///  - anything further away is `late` and delivered, and the position stays. If the next such frame follows it by one, the
///    sender has begun again: the position moves there and nothing is counted. (After the probation of RFC 3550 A.1.)
///  - sequence 0 with Event power_up of a boot count not seen before is a new beginning at once.
class Decoder {
 public:
  static constexpr int kGapMax = 4096;

  void feed(std::span<const std::byte> bytes, std::vector<Message>& out);
  /// `frames`: every frame with a right checksum, delivered or not.
  [[nodiscard]] const LineCounts& counts() const { return counts_; }
  /// Forget the partial frame and the sequence position (port opened anew); counts go on.
  void restart();

 private:
  void deliver(const cs_frame& frame, std::vector<Message>& out);
  void note_power_up(const Message& message);
  // Each says whether the frame is to be delivered.
  [[nodiscard]] bool in_order(std::uint16_t sequence);
  bool start_at(std::uint16_t sequence);
  bool newer(std::uint16_t sequence, int ahead);
  bool older(int behind);

  cs_reader reader_{};
  LineCounts counts_;
  bool have_sequence_ = false;
  std::uint16_t newest_ = 0;
  std::uint64_t seen_ = 0;     // bit k: newest_ - k has been seen
  std::uint64_t missing_ = 0;  // bit k: newest_ - k has been counted as lost
  std::optional<std::uint16_t> restart_at_;
  std::optional<std::uint32_t> boot_count_;
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
