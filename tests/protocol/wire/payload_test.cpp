// SPDX-License-Identifier: GPL-3.0-or-later
#include "protocol/wire/payload.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>

#include "protocol/wire/decoder.hpp"
#include "tests/protocol/wire/example_messages.hpp"

namespace coldstroke::wire {
namespace {

std::vector<std::uint8_t> bytes_of(const Message& message) {
  std::vector<std::uint8_t> bytes;
  write_payload(message, bytes);
  return bytes;
}

std::uint8_t type_number(const Message& message) { return static_cast<std::uint8_t>(type_of(message)); }

bool is_block(const Message& message) {
  return std::holds_alternative<SampleBlock>(message) || std::holds_alternative<MemorySamples>(message) ||
         std::holds_alternative<PlaybackSamples>(message);
}

TEST(Payload, ReadsBackWhatWasWrittenForEveryType) {
  for (const auto& [name, message] : example_messages()) {
    Message back;
    ASSERT_EQ(read_payload(type_number(message), bytes_of(message), back), PayloadFault::none) << name;
    EXPECT_TRUE(back == message) << name;
  }
}

TEST(Payload, ShorterThanItsTableIsBadAtEveryLength) {
  for (const auto& [name, message] : example_messages()) {
    const auto bytes = bytes_of(message);
    for (std::size_t length = 0; length < bytes.size(); ++length) {
      if (name == "flight_state" && length + 4 == bytes.size()) continue;  // that is the whole of version 1.0
      Message back;
      EXPECT_EQ(read_payload(type_number(message), std::span{bytes}.first(length), back), PayloadFault::bad_payload)
          << name << " cut to " << length;
    }
  }
}

TEST(Payload, ATailFromANewerMinorVersionIsIgnoredExceptInSampleBlocks) {
  for (const auto& [name, message] : example_messages()) {
    auto bytes = bytes_of(message);
    bytes.insert(bytes.end(), {0xDE, 0xAD, 0xBE});
    Message back;
    const PayloadFault fault = read_payload(type_number(message), bytes, back);
    if (is_block(message)) {
      EXPECT_EQ(fault, PayloadFault::bad_payload) << name;
    } else {
      ASSERT_EQ(fault, PayloadFault::none) << name;
      EXPECT_TRUE(back == message) << name;
    }
  }
}

TEST(Payload, TypesWithoutATableAreUnknown) {
  std::vector<std::uint8_t> known;
  for (const auto& example : example_messages()) known.push_back(type_number(example.message));
  const std::vector<std::uint8_t> payload(40, 0);
  for (unsigned type = 0; type < 256; ++type) {
    if (std::find(known.begin(), known.end(), type) != known.end()) continue;
    Message back;
    EXPECT_EQ(read_payload(static_cast<std::uint8_t>(type), payload, back), PayloadFault::unknown_type) << type;
  }
}

TEST(Payload, AFlightStateOfVersion10IsWholeAndPlaysNothingBack) {
  FlightState state{.node_time_us = 5, .detector = DetectorState::building};
  state.milliohms = {2200, kOpenCircuit};
  state.playback = 9;
  auto bytes = bytes_of(state);
  bytes.erase(bytes.end() - 4, bytes.end());
  Message back;
  ASSERT_EQ(read_payload(0x12, bytes, back), PayloadFault::none);
  state.playback = 0;
  EXPECT_TRUE(back == Message{state});
}

/// The payload of `message` with one byte replaced: bad, or not.
PayloadFault with_byte(const Message& message, std::size_t at, std::uint8_t value) {
  auto bytes = bytes_of(message);
  bytes.at(at) = value;
  Message back;
  return read_payload(type_number(message), bytes, back);
}

TEST(Payload, ValuesOutsideTheirTableAreBad) {
  const SampleBlock block{.stream = 1, .bits = 16, .channels = 1, .counts = {1, 2}};
  for (const std::uint8_t bits : std::initializer_list<std::uint8_t>{0, 8, 12, 17, 40, 255})
    EXPECT_EQ(with_byte(block, 1, bits), PayloadFault::bad_payload);
  EXPECT_EQ(with_byte(block, 2, 0), PayloadFault::bad_payload) << "no channel";
  EXPECT_EQ(with_byte(block, 2, 9), PayloadFault::bad_payload) << "nine channels";
  EXPECT_EQ(with_byte(block, 3, 0), PayloadFault::bad_payload) << "no sample";
  EXPECT_EQ(with_byte(block, 3, 3), PayloadFault::bad_payload) << "more samples than bytes";
  EXPECT_EQ(with_byte(RigState{}, 8, 4), PayloadFault::bad_payload) << "step";
  EXPECT_EQ(with_byte(FlightState{}, 8, 4), PayloadFault::bad_payload) << "detector state";
  EXPECT_EQ(with_byte(FlightState{}, 21, 2), PayloadFault::bad_payload) << "arm switch neither 0 nor 1";
  EXPECT_EQ(with_byte(FlightState{}, 38, 9), PayloadFault::bad_payload) << "nine firing channels";
  EXPECT_EQ(with_byte(MemoryRequest{}, 0, 3), PayloadFault::bad_payload) << "memory part";
  EXPECT_EQ(with_byte(DetectorSetting{0, "", ""}, 1, 33), PayloadFault::bad_payload) << "key too long";
  const TokenGrant grant{1, CommandCode::charge, 1, 100};
  EXPECT_EQ(with_byte(grant, 3, 0), PayloadFault::bad_payload) << "token 0";
}

TEST(Payload, AScaleHintThatIsNoNumberIsBad) {
  const StreamDescription stream{.stream = 1, .bits = 16, .period_ns = 1, .channels = {{Quantity::force, 1.0F, "f"}}};
  EXPECT_EQ(with_byte(stream, 7, 1), PayloadFault::none) << "quantity only informs";
  EXPECT_EQ(with_byte(stream, 7, 200), PayloadFault::none) << "an unknown quantity only informs";
  auto bytes = bytes_of(stream);
  const auto put = [&bytes](float value) {
    const auto bits = std::bit_cast<std::uint32_t>(value);
    for (std::size_t i = 0; i < 4; ++i) bytes[8 + i] = static_cast<std::uint8_t>(bits >> (8 * i));
  };
  for (const float value : {NAN, INFINITY, -INFINITY, 0.0F}) {
    put(value);
    Message back;
    EXPECT_EQ(read_payload(type_number(stream), bytes, back), PayloadFault::bad_payload) << value;
  }
}

TEST(Payload, NumbersThatOnlyInformAreKeptAsTheyAre) {
  Message back;
  const Event event{1, static_cast<EventCode>(999), 5};
  ASSERT_EQ(read_payload(type_number(event), bytes_of(event), back), PayloadFault::none);
  EXPECT_TRUE(back == Message{event});
  const Acknowledgement refusal{1, CommandCode::charge, static_cast<Reason>(200), 5};
  ASSERT_EQ(read_payload(type_number(refusal), bytes_of(refusal), back), PayloadFault::none);
  EXPECT_TRUE(back == Message{refusal});
  RigState state;
  state.faults = 0xFFFF;
  ASSERT_EQ(read_payload(type_number(state), bytes_of(state), back), PayloadFault::none);
  EXPECT_TRUE(back == Message{state});
}

TEST(Payload, AnIdentityOfAnotherMajorVersionGivesItsHead) {
  Identity identity{.kind = NodeKind::flight_board, .protocol_major = 2, .protocol_minor = 5, .session = 77};
  const std::vector<std::uint8_t> head{2, 2, 5, 77, 0, 0, 0};
  Message back;
  ASSERT_EQ(read_payload(0x02, head, back), PayloadFault::none);
  EXPECT_TRUE(back == Message{identity});
}

}  // namespace
}  // namespace coldstroke::wire
