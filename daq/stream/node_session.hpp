// SPDX-License-Identifier: GPL-3.0-or-later
//
// One board as heard over its port: frames decoded, newest state kept, losses counted. The live bench and the archive decoder use
// the same object, so what was seen live can be seen again.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daq/setup/setup.hpp"
#include "daq/stream/clock.hpp"
#include "protocol/wire/decoder.hpp"

namespace coldstroke::daq {

/// The four timestamps of one exchange (RFC 5905 section 8): host sends t1, board receives t2, board replies t3, host receives
/// t4.
struct ClockExchange {
  std::int64_t t1_host_us = 0;
  std::uint64_t t2_node_us = 0, t3_node_us = 0;
  std::int64_t t4_host_us = 0;
  bool operator==(const ClockExchange&) const = default;
};

class NodeSession {
 public:
  explicit NodeSession(Node expected) : expected_{expected} {}

  /// Decodes `bytes`, absorbs what is state, and returns all messages of this chunk; valid until the next call.
  std::span<const wire::Message> receive(HostTime arrival, std::span<const std::byte> bytes);
  /// The port was opened anew: partial frames are dropped, `session` is what the next Hello carries. Identity must come again.
  void opened(std::uint32_t session);
  void closed();

  [[nodiscard]] Node expected() const { return expected_; }
  [[nodiscard]] bool open() const { return open_; }
  /// The right kind of board, answering this session's Hello, with a protocol this program speaks, and fully described.
  [[nodiscard]] bool compatible() const;
  /// What is wrong with who answers, in one sentence; empty if nothing (or nobody answers yet).
  [[nodiscard]] std::string trouble() const;
  [[nodiscard]] const std::optional<wire::Identity>& identity() const { return identity_; }
  /// Streams and settings as described so far. Kept over a reconnection until described anew.
  [[nodiscard]] const wire::StreamDescription* stream(std::uint8_t id) const;
  [[nodiscard]] const std::vector<wire::DetectorSetting>& settings() const { return settings_; }
  [[nodiscard]] const std::optional<wire::RigState>& rig_state() const { return rig_state_; }
  [[nodiscard]] const std::optional<wire::FlightState>& flight_state() const { return flight_state_; }
  [[nodiscard]] std::optional<HostTime> state_time() const { return state_time_; }  ///< arrival of the newest state frame
  [[nodiscard]] std::optional<HostTime> frame_time() const { return frame_time_; }  ///< arrival of the newest good frame
  [[nodiscard]] const std::vector<ClockExchange>& exchanges() const { return exchanges_; }
  /// How often the board fell silent for a quarter of a second or longer and came back. What it sent meanwhile is not counted as
  /// lost.
  [[nodiscard]] std::uint64_t silences() const { return silences_; }
  [[nodiscard]] const wire::LineCounts& counts() const { return decoder_.counts(); }
  /// Identity with streams and settings as one JSON object, for the archive.
  [[nodiscard]] std::string identity_json() const;
  /// "name version (id ...)" for people.
  [[nodiscard]] std::string identity_sentence() const;

 private:
  void absorb(HostTime arrival, const wire::Message& message);
  Node expected_;
  bool open_ = false;
  std::uint64_t silences_ = 0;
  std::uint32_t session_ = 0;
  wire::Decoder decoder_;
  std::vector<wire::Message> messages_;
  std::optional<wire::Identity> identity_;
  std::vector<wire::StreamDescription> streams_;
  std::vector<wire::DetectorSetting> settings_;
  std::optional<wire::RigState> rig_state_;
  std::optional<wire::FlightState> flight_state_;
  std::optional<HostTime> state_time_, frame_time_;
  std::vector<ClockExchange> exchanges_;
};

}  // namespace coldstroke::daq
