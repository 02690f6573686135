// SPDX-License-Identifier: GPL-3.0-or-later
#include "protocol/wire/decoder.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "tests/protocol/wire/example_messages.hpp"

namespace coldstroke::wire {
namespace {

using Stream = std::vector<std::byte>;

Stream numbered(std::uint16_t sequence, const Message& message = Heartbeat{1}) {
  const auto bytes = payload(message);
  std::uint8_t frame[CS_ENCODED_MAX];
  const std::size_t count = cs_frame_encode(static_cast<std::uint8_t>(type_of(message)), sequence,
                                            reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size(), frame);
  const auto view = std::as_bytes(std::span{frame, count});
  return {view.begin(), view.end()};
}

/// A decoder that has been fed heartbeats with these sequence numbers; how many it delivered.
struct Fed {
  Decoder decoder;
  std::vector<Message> out;
  explicit Fed(std::initializer_list<int> sequences) {
    for (const int sequence : sequences) push(sequence);
  }
  void push(int sequence) { decoder.feed(numbered(static_cast<std::uint16_t>(sequence)), out); }
  std::uint64_t count(FrameFault kind) const { return decoder.counts().fault(kind); }
};

TEST(Decoder, EverySplitOfAStreamGivesTheSameMessagesAndCounts) {
  Stream stream;
  Encoder encoder;
  for (const auto& example : example_messages()) encoder.append(example.message, stream);
  stream.insert(stream.begin() + 100, std::byte{0x55});  // and some damage
  Decoder whole;
  std::vector<Message> expected;
  whole.feed(stream, expected);
  ASSERT_GT(expected.size(), 20U);
  for (std::size_t cut = 0; cut <= stream.size(); ++cut) {
    Decoder decoder;
    std::vector<Message> out;
    decoder.feed(std::span{stream}.first(cut), out);
    decoder.feed(std::span{stream}.subspan(cut), out);
    ASSERT_TRUE(out == expected) << "cut at " << cut;
    ASSERT_TRUE(decoder.counts() == whole.counts()) << "cut at " << cut;
  }
  Decoder bytewise;
  std::vector<Message> out;
  for (const auto& byte : stream) bytewise.feed({&byte, 1}, out);
  EXPECT_TRUE(out == expected);
}

TEST(Decoder, CountsTheMissingOfAGap) {
  const Fed fed{10, 11, 15};
  EXPECT_EQ(fed.out.size(), 3U);
  EXPECT_EQ(fed.count(FrameFault::lost), 3U);
}

TEST(Decoder, WrapsFrom65535To0WithoutALoss) {
  const Fed fed{65534, 65535, 0, 1};
  EXPECT_EQ(fed.count(FrameFault::lost), 0U);
  EXPECT_EQ(fed.out.size(), 4U);
}

TEST(Decoder, DropsARepeatedFrameAndCountsIt) {
  const Fed fed{1, 2, 2, 3, 1};
  EXPECT_EQ(fed.out.size(), 3U);
  EXPECT_EQ(fed.count(FrameFault::repeated), 2U);
  EXPECT_EQ(fed.count(FrameFault::late), 0U);
}

TEST(Decoder, DeliversALateFrameOnceAndTakesItOffTheLost) {
  const Fed fed{1, 4, 2, 2};
  EXPECT_EQ(fed.out.size(), 3U);
  EXPECT_EQ(fed.count(FrameFault::late), 1U);
  EXPECT_EQ(fed.count(FrameFault::lost), 1U) << "frame 3";
  EXPECT_EQ(fed.count(FrameFault::repeated), 1U);
}

TEST(Decoder, AFrameFromBeforeTheFirstIsLateAndTakesNothingOffTheLost) {
  const Fed fed{100, 103, 99};
  EXPECT_EQ(fed.count(FrameFault::late), 1U);
  EXPECT_EQ(fed.count(FrameFault::lost), 2U);
}

TEST(Decoder, ALateFrameStillCountsAfterAJumpOf63) {
  const Fed fed{0, 64, 1, 0};
  EXPECT_EQ(fed.count(FrameFault::late), 2U) << "1, and 0 which is 64 behind";
  EXPECT_EQ(fed.count(FrameFault::lost), 62U);
}

TEST(Decoder, ASenderThatBeginsAgainIsBelievedAtItsSecondFrame) {
  const Fed fed{5000, 5001, 0, 1, 2, 3};
  EXPECT_EQ(fed.out.size(), 6U);
  EXPECT_EQ(fed.count(FrameFault::lost), 0U);
  EXPECT_EQ(fed.count(FrameFault::late), 0U);
}

TEST(Decoder, OneAncientFrameDoesNotMoveThePosition) {
  const Fed fed{5000, 5001, 17, 5002, 5003};
  EXPECT_EQ(fed.count(FrameFault::lost), 0U);
  EXPECT_EQ(fed.count(FrameFault::late), 1U);
}

TEST(Decoder, AGapBeyondTheLimitIsANewBeginning) {
  const Fed fed{0, 1 + Decoder::kGapMax};
  EXPECT_EQ(fed.count(FrameFault::lost), 0U);
  const Fed counted{0, Decoder::kGapMax};
  EXPECT_EQ(counted.count(FrameFault::lost), static_cast<std::uint64_t>(Decoder::kGapMax - 1));
}

TEST(Decoder, PowerUpIsANewBeginningAtOnceButNotWhenRepeated) {
  Decoder decoder;
  std::vector<Message> out;
  decoder.feed(numbered(0, Event{1, EventCode::power_up, 1}), out);
  decoder.feed(numbered(1), out);
  decoder.feed(numbered(2), out);
  decoder.feed(numbered(0, Event{1, EventCode::power_up, 2}), out);
  decoder.feed(numbered(1), out);
  EXPECT_EQ(out.size(), 5U);
  decoder.feed(numbered(0, Event{1, EventCode::power_up, 2}), out);
  EXPECT_EQ(out.size(), 5U);
  EXPECT_EQ(decoder.counts().fault(FrameFault::repeated), 1U);
  EXPECT_EQ(decoder.counts().fault(FrameFault::lost), 0U);
  EXPECT_EQ(decoder.counts().fault(FrameFault::late), 0U);
}

TEST(Decoder, SkipsAndCountsUnknownTypesWithoutCountingThemLost) {
  Decoder decoder;
  std::vector<Message> out;
  decoder.feed(numbered(1), out);
  std::uint8_t frame[CS_ENCODED_MAX];
  const std::uint8_t content[] = {1, 2, 3};
  const std::size_t count = cs_frame_encode(0x7F, 2, content, sizeof content, frame);
  decoder.feed(std::as_bytes(std::span{frame, count}), out);
  decoder.feed(numbered(3), out);
  EXPECT_EQ(out.size(), 2U);
  EXPECT_EQ(decoder.counts().fault(FrameFault::unknown_type), 1U);
  EXPECT_EQ(decoder.counts().fault(FrameFault::lost), 0U);
  EXPECT_EQ(decoder.counts().frames, 3U);
}

TEST(Decoder, CountsADamagedFrameOnceAsDamagedAndOnceAsLost) {
  Decoder decoder;
  std::vector<Message> out;
  decoder.feed(numbered(1), out);
  Stream damaged = numbered(2);
  damaged[1] ^= std::byte{0x10};
  decoder.feed(damaged, out);
  decoder.feed(numbered(3), out);
  EXPECT_EQ(out.size(), 2U);
  EXPECT_EQ(decoder.counts().fault(FrameFault::bad_checksum), 1U);
  EXPECT_EQ(decoder.counts().fault(FrameFault::lost), 1U);
}

TEST(Decoder, TwoDelimitersInARowAreIdleFiller) {
  Decoder decoder;
  std::vector<Message> out;
  const Stream idle(1000, std::byte{0});
  decoder.feed(idle, out);
  decoder.feed(numbered(1), out);
  decoder.feed(idle, out);
  decoder.feed(numbered(2), out);
  EXPECT_EQ(out.size(), 2U);
  LineCounts expected;
  expected.bytes = decoder.counts().bytes;
  expected.frames = 2;
  EXPECT_TRUE(decoder.counts() == expected);
}

TEST(Decoder, RestartForgetsThePartialFrameAndThePosition) {
  Fed fed{1, 2};
  const Stream cut = numbered(3);
  fed.decoder.feed(std::span{cut}.first(5), fed.out);
  fed.decoder.restart();
  fed.push(900);
  EXPECT_EQ(fed.out.size(), 3U);
  EXPECT_EQ(fed.count(FrameFault::lost), 0U);
  EXPECT_EQ(fed.decoder.counts().frames, 3U) << "counts go on";
}

TEST(Decoder, EveryFaultHasItsOwnWord) {
  std::vector<std::string> words;
  for (std::size_t kind = 0; kind < kFrameFaultKinds; ++kind) words.emplace_back(word(static_cast<FrameFault>(kind)));
  std::sort(words.begin(), words.end());
  EXPECT_EQ(std::unique(words.begin(), words.end()), words.end());
}

}  // namespace
}  // namespace coldstroke::wire
