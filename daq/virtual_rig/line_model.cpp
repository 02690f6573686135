// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/line_model.hpp"

#include <algorithm>
#include <array>
#include <limits>

#include "protocol/board/frame.h"

namespace coldstroke::daq {
namespace {

constexpr double kBitsPerByte = 10.0;  // 8N1
// Like an adapter with its buffer, the line hands bytes on when it falls idle, or after so many bytes, or so long.
constexpr std::size_t kChunk = 512;
constexpr std::int64_t kGatherNs = 1'000'000;

/// What this direction always takes, drawn once: adapters and drivers differ, and the two ways of one line differ too. The host
/// cannot see the difference; it is what limits clock alignment.
double draw_way_seconds(const Scenario::Line& line, std::uint64_t seed, std::uint64_t purpose) {
  Random random{seed, purpose};
  return line.latency_low_seconds + (line.latency_high_seconds - line.latency_low_seconds) * random.uniform();
}

std::int64_t draw_latency_ns(double way_seconds, const Scenario::Line& line, Random& random) {
  const double jitter = line.jitter_seconds * random.uniform();
  const double tail = random.uniform() < line.tail_probability ? line.tail_seconds : 0.0;
  return static_cast<std::int64_t>((way_seconds + jitter + tail) * 1.0e9);
}

void flip_bits(std::vector<std::uint8_t>& bytes, double probability, Random& random) {
  if (probability <= 0.0) return;
  for (std::uint8_t& byte : bytes)
    if (random.uniform() < probability) byte = static_cast<std::uint8_t>(byte ^ (1U << (random.bits() & 7U)));
}

/// The frame with its identity's major version raised, or as it was if it is no identity.
std::vector<std::uint8_t> with_newer_major(const std::vector<std::uint8_t>& encoded) {
  cs_reader reader;
  cs_reader_init(&reader);
  cs_frame frame{};
  int result = -1;
  for (const std::uint8_t byte : encoded) result = cs_reader_push(&reader, byte, &frame);
  if (result != CS_FRAME_OK || frame.type != CS_TYPE_IDENTITY || frame.payload_count < 2) return encoded;
  std::vector<std::uint8_t> payload(frame.payload, frame.payload + frame.payload_count);
  payload[1] = static_cast<std::uint8_t>(payload[1] + 1U);  // u8 kind, u8 major, ... (docs/wire.md)
  std::vector<std::uint8_t> out(CS_ENCODED_MAX);
  out.resize(cs_frame_encode(frame.type, frame.sequence, payload.data(), payload.size(), out.data()));
  return out;
}

}  // namespace

LineToHost::LineToHost(double baud, const Scenario::Line& latency, std::uint64_t seed, std::uint64_t purpose)
    : byte_ns_{kBitsPerByte / baud * 1.0e9},
      latency_{latency},
      way_seconds_{draw_way_seconds(latency, seed, purpose + 6)},
      random_{seed, purpose},
      trouble_{seed, purpose + 1} {}

void LineToHost::pump(cs_line& ring, std::int64_t now_ns) {
  if (faults_.bursts_per_second > 0.0)
    bursts_due_ += faults_.bursts_per_second * static_cast<double>(now_ns - pumped_ns_) * 1.0e-9;
  pumped_ns_ = now_ns;
  const double now = static_cast<double>(now_ns);
  std::array<std::uint8_t, kChunk> buffer;
  while (line_ns_ + byte_ns_ <= now && cs_line_waiting(&ring) > 0) {
    // At least the one byte that the condition saw room for, whatever the division rounds to.
    const std::size_t room = std::max<std::size_t>(1, static_cast<std::size_t>((now - line_ns_) / byte_ns_));
    const std::size_t count = cs_line_take(&ring, buffer.data(), std::min(room, buffer.size()));
    if (gathered_.empty()) gathered_since_ns_ = now_ns;
    gathered_.insert(gathered_.end(), buffer.begin(), buffer.begin() + static_cast<std::ptrdiff_t>(count));
    line_ns_ += static_cast<double>(count) * byte_ns_;
  }
  const bool empty = cs_line_waiting(&ring) == 0;
  const bool hand_on = empty || gathered_.size() >= kChunk || now_ns - gathered_since_ns_ >= kGatherNs;
  if (hand_on && !gathered_.empty()) {
    send(gathered_, static_cast<std::int64_t>(line_ns_), now_ns);
    gathered_.clear();
  }
  if (empty) line_ns_ = now;
}

void LineToHost::send(std::span<const std::uint8_t> bytes, std::int64_t left_ns, std::int64_t now_ns) {
  const bool trouble = faults_ != LineFaults{} || losing_ || !frame_.empty();
  const std::vector<std::uint8_t> changed = trouble ? with_trouble(bytes) : std::vector<std::uint8_t>{};
  const std::span<const std::uint8_t> out = trouble ? std::span<const std::uint8_t>{changed} : bytes;
  if (faults_.dead || out.empty()) return;
  const std::int64_t earliest = std::max(last_arrival_ns_, now_ns);
  // Bytes on the heels of the last ones share its wait: they keep their order and need no draw of their own.
  std::int64_t arrival = std::max(left_ns + draw_latency_ns(way_seconds_, latency_, random_), earliest);
  last_arrival_ns_ = arrival;
  const std::span<const std::byte> raw = std::as_bytes(out);
  const std::int64_t arrival_us = arrival / 1000;
  if (!queue_.empty() && queue_.back().arrival_us == arrival_us)
    queue_.back().bytes.insert(queue_.back().bytes.end(), raw.begin(), raw.end());
  else
    queue_.push_back({arrival_us, {raw.begin(), raw.end()}});
}

/// Frame by frame, so that whole ones can be lost or looked into; what is no whole frame yet waits.
std::vector<std::uint8_t> LineToHost::with_trouble(std::span<const std::uint8_t> bytes) {
  passed_.clear();
  for (const std::uint8_t byte : bytes) {
    if (frame_.empty()) losing_ = trouble_.uniform() < faults_.lost_frame_probability;
    frame_.push_back(byte);
    if (byte == 0 || frame_.size() > CS_ENCODED_MAX) end_frame();
  }
  flip_bits(passed_, faults_.flip_probability, trouble_);
  while (bursts_due_ >= 1.0) {
    bursts_due_ -= 1.0;
    const std::size_t at = passed_.empty() ? 0 : trouble_.bits() % passed_.size();
    std::vector<std::uint8_t> burst(static_cast<std::size_t>(faults_.burst_bytes));
    for (std::uint8_t& byte : burst) byte = static_cast<std::uint8_t>(trouble_.bits());
    passed_.insert(passed_.begin() + static_cast<std::ptrdiff_t>(at), burst.begin(), burst.end());
  }
  return passed_;
}

void LineToHost::end_frame() {
  if (!losing_) {
    const std::vector<std::uint8_t> out = faults_.newer_major ? with_newer_major(frame_) : frame_;
    passed_.insert(passed_.end(), out.begin(), out.end());
  }
  frame_.clear();
  losing_ = false;
}

std::vector<StampedBytes> LineToHost::take(std::int64_t now_us) {
  std::vector<StampedBytes> out;
  while (!queue_.empty() && queue_.front().arrival_us <= now_us) {
    out.push_back(std::move(queue_.front()));
    queue_.pop_front();
  }
  return out;
}

LineToBoard::LineToBoard(double baud, const Scenario::Line& latency, std::uint64_t seed, std::uint64_t purpose)
    : byte_ns_{kBitsPerByte / baud * 1.0e9},
      latency_{latency},
      way_seconds_{draw_way_seconds(latency, seed, purpose + 6)},
      random_{seed, purpose},
      trouble_{seed, purpose + 1} {}

void LineToBoard::send(std::span<const std::byte> bytes, std::int64_t now_ns) {
  if (bytes.empty() || faults_.dead) return;
  Delivery delivery;
  const auto* first = reinterpret_cast<const std::uint8_t*>(bytes.data());
  delivery.bytes.assign(first, first + bytes.size());
  flip_bits(delivery.bytes, faults_.flip_probability, trouble_);
  const auto on_line = static_cast<std::int64_t>(static_cast<double>(bytes.size()) * byte_ns_);
  delivery.arrival_ns = std::max(last_arrival_ns_, now_ns + draw_latency_ns(way_seconds_, latency_, random_)) + on_line;
  last_arrival_ns_ = delivery.arrival_ns;
  queue_.push_back(std::move(delivery));
}

std::int64_t LineToBoard::next_ns() const {
  return queue_.empty() ? std::numeric_limits<std::int64_t>::max() : queue_.front().arrival_ns;
}

LineToBoard::Delivery LineToBoard::take() {
  Delivery out = std::move(queue_.front());
  queue_.pop_front();
  return out;
}

}  // namespace coldstroke::daq
