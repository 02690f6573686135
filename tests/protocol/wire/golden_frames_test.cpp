// SPDX-License-Identifier: GPL-3.0-or-later
//
// The frames were made by tests/protocol/golden_frames.py, which shares no code with what is tested here.
#include "tests/protocol/wire/golden_frames.hpp"

#include <gtest/gtest.h>

#include <set>

#include "protocol/wire/decoder.hpp"
#include "tests/protocol/wire/example_messages.hpp"

namespace coldstroke::wire {
namespace {

TEST(GoldenFrames, ThePageHoldsOneForEveryMessageType) {
  const auto frames = golden_frames();
  const auto examples = example_messages();
  ASSERT_EQ(frames.size(), examples.size());
  std::set<Type> types;
  for (std::size_t i = 0; i < frames.size(); ++i) {
    EXPECT_EQ(frames[i].name, examples[i].name);
    types.insert(type_of(examples[i].message));
  }
  EXPECT_EQ(types.size(), std::variant_size_v<Message>);
}

TEST(GoldenFrames, DecodeToTheMessagesThatThePageNames) {
  Decoder decoder;
  const auto examples = example_messages();
  const auto frames = golden_frames();
  ASSERT_EQ(frames.size(), examples.size());
  for (std::size_t i = 0; i < frames.size(); ++i) {
    std::vector<Message> out;
    decoder.feed(frames[i].bytes, out);
    ASSERT_EQ(out.size(), 1U) << frames[i].name;
    EXPECT_TRUE(out[0] == examples[i].message) << frames[i].name;
  }
  LineCounts expected;
  expected.bytes = decoder.counts().bytes;
  expected.frames = frames.size();
  EXPECT_TRUE(decoder.counts() == expected) << "no fault of any kind";
}

TEST(GoldenFrames, AreWhatTheEncoderWrites) {
  Encoder encoder;
  const auto frames = golden_frames();
  const auto examples = example_messages();
  ASSERT_EQ(frames.size(), examples.size());
  for (std::size_t i = 0; i < frames.size(); ++i) {
    std::vector<std::byte> bytes;
    encoder.append(examples[i].message, bytes);
    EXPECT_TRUE(bytes == frames[i].bytes) << frames[i].name;
  }
}

}  // namespace
}  // namespace coldstroke::wire
