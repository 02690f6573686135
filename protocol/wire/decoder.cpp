// SPDX-License-Identifier: GPL-3.0-or-later
#include "protocol/wire/decoder.hpp"

#include "protocol/wire/payload.hpp"

namespace coldstroke::wire {
namespace {

constexpr int kWindow = 64;  // sequence numbers behind the newest that are remembered one by one

void add(LineCounts& counts, FrameFault kind, std::uint64_t number = 1) {
  counts.faults[static_cast<std::size_t>(kind)] += number;
}

std::uint64_t low_bits(int count) { return count >= kWindow ? ~std::uint64_t{0} : (std::uint64_t{1} << count) - 1; }

}  // namespace

const char* word(FrameFault fault) {
  switch (fault) {
    case FrameFault::too_long:
      return "damaged (too long)";
    case FrameFault::bad_stuffing:
      return "damaged (stuffing)";
    case FrameFault::too_short:
      return "damaged (too short)";
    case FrameFault::bad_checksum:
      return "damaged (checksum)";
    case FrameFault::unknown_type:
      return "unknown type";
    case FrameFault::bad_payload:
      return "malformed";
    case FrameFault::lost:
      return "lost";
    case FrameFault::repeated:
      return "repeated";
    case FrameFault::late:
      return "late";
  }
  return "unknown fault";
}

void Decoder::feed(std::span<const std::byte> bytes, std::vector<Message>& out) {
  counts_.bytes += bytes.size();
  cs_frame frame;
  for (const std::byte byte : bytes) {
    switch (cs_reader_push(&reader_, std::to_integer<std::uint8_t>(byte), &frame)) {
      case CS_FRAME_OK:
        deliver(frame, out);
        break;
      case CS_FRAME_TOO_LONG:
        add(counts_, FrameFault::too_long);
        break;
      case CS_FRAME_BAD_STUFFING:
        add(counts_, FrameFault::bad_stuffing);
        break;
      case CS_FRAME_TOO_SHORT:
        add(counts_, FrameFault::too_short);
        break;
      case CS_FRAME_BAD_CRC:
        add(counts_, FrameFault::bad_checksum);
        break;
      default:
        break;  // inside a frame, or idle filler
    }
  }
}

void Decoder::deliver(const cs_frame& frame, std::vector<Message>& out) {
  ++counts_.frames;
  Message message;
  const PayloadFault fault = read_payload(frame.type, {frame.payload, frame.payload_count}, message);
  if (fault == PayloadFault::none && frame.sequence == 0) note_power_up(message);
  if (!in_order(frame.sequence)) return;
  if (fault == PayloadFault::none) out.push_back(std::move(message));
  if (fault == PayloadFault::unknown_type) add(counts_, FrameFault::unknown_type);
  if (fault == PayloadFault::bad_payload) add(counts_, FrameFault::bad_payload);
}

void Decoder::note_power_up(const Message& message) {
  const Event* event = std::get_if<Event>(&message);
  if (event == nullptr || event->code != EventCode::power_up || boot_count_ == event->argument) return;
  boot_count_ = event->argument;
  have_sequence_ = false;
}

bool Decoder::start_at(std::uint16_t sequence) {
  have_sequence_ = true;
  newest_ = sequence;
  seen_ = 1;
  missing_ = 0;
  restart_at_.reset();
  return true;
}

bool Decoder::in_order(std::uint16_t sequence) {
  if (!have_sequence_) return start_at(sequence);
  const int ahead = static_cast<std::int16_t>(static_cast<std::uint16_t>(sequence - newest_));
  if (ahead > 0 && ahead <= kGapMax) return newer(sequence, ahead);
  if (ahead <= 0 && ahead > -kWindow) return older(-ahead);
  if (restart_at_ == sequence) {  // the second of two in a row, far away: the sender began again
    --counts_.faults[static_cast<std::size_t>(FrameFault::late)];
    return start_at(sequence);
  }
  restart_at_ = static_cast<std::uint16_t>(sequence + 1);
  add(counts_, FrameFault::late);
  return true;
}

bool Decoder::newer(std::uint16_t sequence, int ahead) {
  add(counts_, FrameFault::lost, static_cast<std::uint64_t>(ahead - 1));
  const bool all_new = ahead >= kWindow;
  seen_ = (all_new ? 0 : seen_ << ahead) | 1;
  missing_ = (all_new ? 0 : missing_ << ahead) | (low_bits(ahead) & ~std::uint64_t{1});
  newest_ = sequence;
  return true;
}

bool Decoder::older(int behind) {
  const std::uint64_t bit = std::uint64_t{1} << behind;
  if ((seen_ & bit) != 0) {
    add(counts_, FrameFault::repeated);
    return false;
  }
  add(counts_, FrameFault::late);
  if ((missing_ & bit) != 0) --counts_.faults[static_cast<std::size_t>(FrameFault::lost)];
  seen_ |= bit;
  missing_ &= ~bit;
  return true;
}

void Decoder::restart() {
  cs_reader_init(&reader_);
  have_sequence_ = false;
  restart_at_.reset();
}

void Encoder::append(const Message& message, std::vector<std::byte>& out) {
  std::vector<std::uint8_t> bytes;
  write_payload(message, bytes);
  std::uint8_t frame[CS_ENCODED_MAX];
  const std::size_t count =
      cs_frame_encode(static_cast<std::uint8_t>(type_of(message)), sequence_++, bytes.data(), bytes.size(), frame);
  const auto view = std::as_bytes(std::span{frame, count});
  out.insert(out.end(), view.begin(), view.end());
}

}  // namespace coldstroke::wire
