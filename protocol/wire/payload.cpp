// SPDX-License-Identifier: GPL-3.0-or-later
//
// One layout() a message serves reading and writing, so the two cannot differ. The tables are in docs/wire.md;
// the worked frames there, made by an independent program, hold this file to them.
#include "protocol/wire/payload.hpp"

#include <bit>
#include <cassert>
#include <cmath>
#include <concepts>
#include <string>
#include <type_traits>
#include <utility>

#include "protocol/board/frame.h"
#include "protocol/wire/decoder.hpp"

namespace coldstroke::wire {
namespace {

constexpr std::size_t kChannelsMax = 8;
constexpr std::size_t kSampleHeadBytes = 21;

template <std::size_t Bytes>
using UnsignedOf = std::conditional_t<
    Bytes == 1, std::uint8_t,
    std::conditional_t<Bytes == 2, std::uint16_t, std::conditional_t<Bytes == 4, std::uint32_t, std::uint64_t>>>;

class Writer {
 public:
  template <class T>
  using Of = const T;

  explicit Writer(std::vector<std::uint8_t>& out) : out_{out} {}

  template <class T>
  void number(T value) {
    auto bits = std::bit_cast<UnsignedOf<sizeof(T)>>(value);
    for (std::size_t i = 0; i < sizeof(T); ++i) out_.push_back(static_cast<std::uint8_t>(std::uint64_t{bits} >> (8 * i)));
  }
  void flag(bool value) { number(static_cast<std::uint8_t>(value ? 1 : 0)); }
  void text(const std::string& value, std::size_t longest) {
    require(value.size() <= longest);
    number(static_cast<std::uint8_t>(value.size()));
    out_.insert(out_.end(), value.begin(), value.end());
  }
  template <class Vector>
  void count(const Vector& list) {
    number(static_cast<std::uint8_t>(list.size()));
  }
  void samples(const SampleBlock& block) {
    require(block.counts.size() % block.channels == 0);
    const std::size_t bytes = block.bits / 8U;
    for (const std::int32_t value : block.counts) {
      for (std::size_t i = 0; i < bytes; ++i)
        out_.push_back(static_cast<std::uint8_t>(static_cast<std::uint32_t>(value) >> (8 * i)));
    }
  }
  void sample_count(const SampleBlock& block) {
    require(block.channels != 0);
    number(static_cast<std::uint16_t>(block.counts.size() / block.channels));
  }
  void triples(const std::vector<std::array<std::int16_t, 3>>& list, std::size_t most) {
    require(!list.empty() && list.size() <= most);
    number(static_cast<std::uint16_t>(list.size()));
    for (const auto& triple : list)
      for (const std::int16_t value : triple) number(value);
  }
  [[nodiscard]] bool has_tail() const { return true; }
  void require([[maybe_unused]] bool holds) { assert(holds && "message breaks its own limits"); }

 private:
  std::vector<std::uint8_t>& out_;
};

class Reader {
 public:
  template <class T>
  using Of = T;

  explicit Reader(std::span<const std::uint8_t> bytes) : bytes_{bytes} {}
  [[nodiscard]] bool ok() const { return ok_; }

  template <class T>
  void number(T& value) {
    UnsignedOf<sizeof(T)> bits = 0;
    if (!room(sizeof(T))) return;
    for (std::size_t i = 0; i < sizeof(T); ++i)
      bits = static_cast<decltype(bits)>(bits | static_cast<decltype(bits)>(std::uint64_t{bytes_[at_ + i]} << (8 * i)));
    at_ += sizeof(T);
    value = std::bit_cast<T>(bits);
  }
  void flag(bool& value) {
    std::uint8_t byte = 0;
    number(byte);
    require(byte <= 1);
    value = byte != 0;
  }
  void text(std::string& value, std::size_t longest) {
    std::uint8_t count = 0;
    number(count);
    require(count <= longest);
    if (!room(count)) return;
    value.assign(bytes_.begin() + static_cast<std::ptrdiff_t>(at_), bytes_.begin() + static_cast<std::ptrdiff_t>(at_ + count));
    at_ += count;
  }
  template <class Vector>
  void count(Vector& list) {
    std::uint8_t items = 0;
    number(items);
    require(items <= kChannelsMax);
    if (ok_) list.resize(items);
  }
  /// Exactly to the end of the payload, like the samples of a block.
  void triples(std::vector<std::array<std::int16_t, 3>>& list, std::size_t most) {
    std::uint16_t items = 0;
    number(items);
    require(items > 0 && items <= most && bytes_.size() - at_ == std::size_t{items} * 6);
    if (!ok_) return;
    list.resize(items);
    for (auto& triple : list)
      for (std::int16_t& value : triple) number(value);
  }
  /// Whether anything is left: fields that a newer minor version added at the end.
  [[nodiscard]] bool has_tail() const { return at_ < bytes_.size(); }
  void sample_count(SampleBlock&) { number(sample_count_); }
  void samples(SampleBlock& block) {
    const std::size_t bytes = block.bits / 8U;
    const std::size_t values = std::size_t{sample_count_} * block.channels;
    require(values > 0 && bytes_.size() - at_ == values * bytes);
    if (!ok_) return;
    block.counts.resize(values);
    const std::uint8_t* from = bytes_.data() + at_;
    switch (bytes) {
      case 2:
        unpack<2>(from, block.counts);
        break;
      case 3:
        unpack<3>(from, block.counts);
        break;
      default:
        unpack<4>(from, block.counts);
        break;
    }
    at_ = bytes_.size();
  }
  void require(bool holds) { ok_ = ok_ && holds; }

 private:
  template <std::size_t Bytes>
  static void unpack(const std::uint8_t* from, std::vector<std::int32_t>& counts) {
    for (std::int32_t& value : counts) {
      std::uint32_t bits = 0;
      for (std::size_t i = 0; i < Bytes; ++i) bits |= std::uint32_t{from[i]} << (32 - 8 * (Bytes - i));
      value = static_cast<std::int32_t>(bits) >> (32 - 8 * Bytes);  // arithmetic shift (C++20): the sign comes along
      from += Bytes;
    }
  }
  bool room(std::size_t count) {
    require(bytes_.size() - at_ >= count);
    return ok_;
  }
  std::span<const std::uint8_t> bytes_;
  std::size_t at_ = 0;
  std::uint16_t sample_count_ = 0;
  bool ok_ = true;
};

template <class IO, class T>
using Of = typename IO::template Of<T>;

template <class IO>
void layout(IO& io, Of<IO, Hello>& m) {
  io.number(m.protocol_major), io.number(m.protocol_minor), io.number(m.session);
}

template <class IO>
void layout(IO& io, Of<IO, Identity>& m) {
  io.number(m.kind), io.number(m.protocol_major), io.number(m.protocol_minor), io.number(m.session);
  for (auto& byte : m.unique_id) io.number(byte);
  io.number(m.boot_count), io.number(m.stream_count), io.number(m.setting_count);
  io.text(m.firmware_name, 32), io.text(m.firmware_version, 32);
}

template <class IO>
void layout(IO& io, Of<IO, StreamDescription>& m) {
  io.number(m.stream), io.number(m.bits), io.number(m.period_ns);
  io.require(m.bits == 16 || m.bits == 24 || m.bits == 32);
  io.require(m.period_ns != 0);
  io.count(m.channels);
  io.require(!m.channels.empty() && m.channels.size() <= kChannelsMax);
  for (auto& channel : m.channels) {
    io.number(channel.quantity), io.number(channel.scale_hint);
    io.require(std::isfinite(channel.scale_hint) && channel.scale_hint != 0.0F);
    io.text(channel.name, 16);
  }
}

template <class IO>
void layout(IO& io, Of<IO, DetectorSetting>& m) {
  io.number(m.index), io.text(m.key, 32), io.text(m.value, 32);
}

template <class IO>
void layout(IO& io, Of<IO, SampleBlock>& m) {
  io.number(m.stream), io.number(m.bits), io.number(m.channels);
  io.require(m.bits == 16 || m.bits == 24 || m.bits == 32);
  io.require(m.channels >= 1 && m.channels <= kChannelsMax);
  io.sample_count(m), io.number(m.first_index), io.number(m.node_time_us);
  io.samples(m);
}

template <class IO>
void layout(IO& io, Of<IO, RigState>& m) {
  io.number(m.node_time_us), io.number(m.step);
  io.require(m.step <= RigStep::released);
  io.number(m.outputs), io.number(m.readback), io.number(m.inputs), io.number(m.faults);
  io.number(m.supply_mv), io.number(m.heartbeat_age_us), io.number(m.boot_count), io.number(m.frames_dropped);
}

template <class IO>
void layout(IO& io, Of<IO, FlightState>& m) {
  io.number(m.node_time_us), io.number(m.detector);
  io.require(m.detector <= DetectorState::inhibited);
  io.number(m.decision_us), io.number(m.decision_count), io.flag(m.armed_switch), io.number(m.continuity_mask);
  io.number(m.battery_mv), io.number(m.reset_count), io.number(m.record_id), io.flag(m.recording), io.number(m.frames_dropped);
  io.count(m.milliohms);
  io.require(m.milliohms.size() <= kChannelsMax);
  for (auto& milliohms : m.milliohms) io.number(milliohms);
  if (io.has_tail()) io.number(m.playback);  // since 1.1: a board of 1.0 has no playback
}

template <class IO>
void layout(IO& io, Of<IO, Event>& m) {
  io.number(m.node_time_us), io.number(m.code), io.number(m.argument);
}

template <class IO>
void layout(IO& io, Of<IO, LogLine>& m) {
  io.number(m.node_time_us), io.number(m.level), io.text(m.text, 200);
}

template <class IO>
void layout(IO& io, Of<IO, ClockRequest>& m) {
  io.number(m.id), io.number(m.t1_us);
}

template <class IO>
void layout(IO& io, Of<IO, ClockReply>& m) {
  io.number(m.id), io.number(m.t1_us), io.number(m.t2_us), io.number(m.t3_us);
}

template <class IO>
void layout(IO& io, Of<IO, Heartbeat>& m) {
  io.number(m.count);
}

template <class IO>
void layout(IO& io, Of<IO, Command>& m) {
  io.number(m.id), io.number(m.code), io.number(m.token), io.number(m.argument);
}

template <class IO>
void layout(IO& io, Of<IO, Acknowledgement>& m) {
  io.number(m.id), io.number(m.code), io.number(m.reason), io.number(m.node_time_us);
}

template <class IO>
void layout(IO& io, Of<IO, TokenGrant>& m) {
  io.number(m.id), io.number(m.purpose), io.number(m.token), io.number(m.life_ms);
  io.require(m.token != 0);
}

template <class IO>
void layout(IO& io, Of<IO, MemoryRequest>& m) {
  io.number(m.part), io.number(m.first), io.number(m.count);
  io.require(m.part <= MemoryPart::samples);
}

template <class IO>
void layout(IO& io, Of<IO, MemorySummary>& m) {
  io.number(m.record_id), io.number(m.decision_count), io.number(m.first_index), io.number(m.sample_count);
  io.number(m.first_time_us), io.number(m.period_ns), io.number(m.stream), io.flag(m.frozen);
}

template <class IO>
void layout(IO& io, Of<IO, MemoryDecision>& m) {
  io.number(m.record_id), io.number(m.index), io.number(m.node_time_us), io.number(m.sample_index);
}

template <class IO>
void layout(IO& io, Of<IO, MemorySamples>& m) {
  io.number(m.record_id);
  layout(io, m.block);
}

template <class IO>
void layout(IO& io, Of<IO, MemoryEnd>& m) {
  io.number(m.record_id), io.number(m.part), io.number(m.items);
  io.require(m.part <= MemoryPart::samples);
}

template <class IO>
void layout(IO& io, Of<IO, PlaybackSamples>& m) {
  io.number(m.number), io.number(m.first);
  io.triples(m.counts, PlaybackSamples::kMost);
}

template <class IO>
void layout(IO& io, Of<IO, PlaybackState>& m) {
  io.number(m.node_time_us), io.number(m.number), io.number(m.phase), io.number(m.stop);
  io.require(m.phase <= PlaybackPhase::stopped);
  io.number(m.total), io.number(m.received), io.number(m.played), io.number(m.accepted_to);
  io.number(m.refused), io.number(m.starved), io.count(m.changes);
  for (auto& change : m.changes) {
    io.number(change.sample), io.number(change.node_time_us), io.number(change.state);
    io.require(change.state <= DetectorState::inhibited);
  }
}

template <class M>
bool read_as(std::span<const std::uint8_t> payload, Message& out) {
  Reader reader{payload};
  layout(reader, out.emplace<M>());
  return reader.ok();
}

/// The head of an identity is the same in every protocol version; the rest may not be. A board of another major
/// version must be refused by name, so its identity is delivered with the head alone.
bool read_identity(std::span<const std::uint8_t> payload, Message& out) {
  Identity head;
  Reader reader{payload};
  reader.number(head.kind), reader.number(head.protocol_major), reader.number(head.protocol_minor), reader.number(head.session);
  if (!reader.ok()) return false;
  if (head.protocol_major == kProtocolMajor) return read_as<Identity>(payload, out);
  out = head;
  return true;
}

bool read_known(Type type, std::span<const std::uint8_t> payload, Message& out, bool& known) {
  switch (type) {
    case Type::hello:
      return read_as<Hello>(payload, out);
    case Type::identity:
      return read_identity(payload, out);
    case Type::stream_description:
      return read_as<StreamDescription>(payload, out);
    case Type::detector_setting:
      return read_as<DetectorSetting>(payload, out);
    case Type::sample_block:
      return read_as<SampleBlock>(payload, out);
    case Type::rig_state:
      return read_as<RigState>(payload, out);
    case Type::flight_state:
      return read_as<FlightState>(payload, out);
    case Type::event:
      return read_as<Event>(payload, out);
    case Type::log_line:
      return read_as<LogLine>(payload, out);
    case Type::clock_request:
      return read_as<ClockRequest>(payload, out);
    case Type::clock_reply:
      return read_as<ClockReply>(payload, out);
    case Type::heartbeat:
      return read_as<Heartbeat>(payload, out);
    case Type::command:
      return read_as<Command>(payload, out);
    case Type::acknowledgement:
      return read_as<Acknowledgement>(payload, out);
    case Type::token_grant:
      return read_as<TokenGrant>(payload, out);
    case Type::memory_request:
      return read_as<MemoryRequest>(payload, out);
    case Type::memory_summary:
      return read_as<MemorySummary>(payload, out);
    case Type::memory_decision:
      return read_as<MemoryDecision>(payload, out);
    case Type::memory_samples:
      return read_as<MemorySamples>(payload, out);
    case Type::memory_end:
      return read_as<MemoryEnd>(payload, out);
    case Type::playback_samples:
      return read_as<PlaybackSamples>(payload, out);
    case Type::playback_state:
      return read_as<PlaybackState>(payload, out);
  }
  known = false;
  return false;
}

// In the order of Message's alternatives.
constexpr Type kTypes[] = {
    Type::hello,
    Type::identity,
    Type::stream_description,
    Type::detector_setting,
    Type::sample_block,
    Type::rig_state,
    Type::flight_state,
    Type::event,
    Type::log_line,
    Type::clock_request,
    Type::clock_reply,
    Type::heartbeat,
    Type::command,
    Type::acknowledgement,
    Type::token_grant,
    Type::memory_request,
    Type::memory_summary,
    Type::memory_decision,
    Type::memory_samples,
    Type::memory_end,
    Type::playback_samples,
    Type::playback_state,
};
static_assert(std::size(kTypes) == std::variant_size_v<Message>);
static_assert(kSampleHeadBytes + 4 + 3 * 4 * 20 <= CS_PAYLOAD_MAX);

}  // namespace

PayloadFault read_payload(std::uint8_t type, std::span<const std::uint8_t> payload, Message& out) {
  bool known = true;
  if (read_known(static_cast<Type>(type), payload, out, known)) return PayloadFault::none;
  return known ? PayloadFault::bad_payload : PayloadFault::unknown_type;
}

void write_payload(const Message& message, std::vector<std::uint8_t>& out) {
  Writer writer{out};
  std::visit([&writer](const auto& m) { layout(writer, m); }, message);
  assert(out.size() <= CS_PAYLOAD_MAX && "message longer than a frame");
}

std::vector<std::byte> payload(const Message& message) {
  std::vector<std::uint8_t> bytes;
  write_payload(message, bytes);
  const auto view = std::as_bytes(std::span{bytes});
  return {view.begin(), view.end()};
}

Type type_of(const Message& message) { return kTypes[message.index()]; }

}  // namespace coldstroke::wire
