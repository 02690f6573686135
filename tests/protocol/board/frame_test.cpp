// SPDX-License-Identifier: GPL-3.0-or-later
#include "protocol/board/frame.h"

#include <gtest/gtest.h>

#include <random>
#include <vector>

namespace {

using Bytes = std::vector<std::uint8_t>;

Bytes stuffed(const Bytes& bytes) {
  Bytes out(bytes.size() + bytes.size() / 254 + 1);
  out.resize(cs_cobs_encode(bytes.data(), bytes.size(), out.data()));
  return out;
}

std::vector<int> read_all(cs_reader& reader, const Bytes& bytes) {
  std::vector<int> found;
  cs_frame frame;
  for (const std::uint8_t byte : bytes) {
    const int what = cs_reader_push(&reader, byte, &frame);
    if (what >= 0) found.push_back(what);
  }
  return found;
}

Bytes frame_of(const Bytes& payload) {
  Bytes out(CS_ENCODED_MAX);
  out.resize(cs_frame_encode(0x22, 7, payload.data(), payload.size(), out.data()));
  return out;
}

TEST(Stuffing, InverseGivesTheBytesBackAtEveryLengthUpToAFrame) {
  std::mt19937 random{1};
  for (std::size_t length = 0; length <= CS_FRAME_MAX; ++length) {
    for (const unsigned zero_in : {0U, 1U, 3U, 300U}) {  // no zeros; only zeros; many; few
      Bytes bytes(length);
      for (auto& byte : bytes) byte = static_cast<std::uint8_t>(zero_in != 0 && random() % zero_in == 0 ? 0 : random() % 255 + 1);
      Bytes out = stuffed(bytes);
      ASSERT_LE(out.size() + 1, CS_ENCODED_MAX);
      for (const auto byte : out) ASSERT_NE(byte, 0);
      ASSERT_EQ(cs_cobs_decode(out.data(), out.size(), out.data()), length) << "in place, length " << length;
      out.resize(length);
      ASSERT_EQ(out, bytes);
    }
  }
}

TEST(Stuffing, RefusesACodeThatPointsPastTheEndAndAZeroInside) {
  Bytes out(8);
  const Bytes past{5, 1, 2};
  EXPECT_EQ(cs_cobs_decode(past.data(), past.size(), out.data()), SIZE_MAX);
  const Bytes zero_code{2, 1, 0, 1};
  EXPECT_EQ(cs_cobs_decode(zero_code.data(), zero_code.size(), out.data()), SIZE_MAX);
  const Bytes zero_inside{4, 1, 0, 1};
  EXPECT_EQ(cs_cobs_decode(zero_inside.data(), zero_inside.size(), out.data()), SIZE_MAX);
}

TEST(Checksum, ContinuesOverPieces) {
  Bytes bytes(100);
  for (std::size_t i = 0; i < bytes.size(); ++i) bytes[i] = static_cast<std::uint8_t>(i * 7);
  const std::uint32_t whole = cs_crc32c(0, bytes.data(), bytes.size());
  for (std::size_t cut = 0; cut <= bytes.size(); ++cut)
    EXPECT_EQ(cs_crc32c(cs_crc32c(0, bytes.data(), cut), bytes.data() + cut, bytes.size() - cut), whole);
}

TEST(FrameReader, TakesTheLongestFrameAndNoLongerOne) {
  cs_reader reader;
  cs_reader_init(&reader);
  EXPECT_EQ(read_all(reader, frame_of(Bytes(CS_PAYLOAD_MAX, 0xA5))), std::vector<int>{CS_FRAME_OK});
  EXPECT_EQ(read_all(reader, frame_of(Bytes(CS_PAYLOAD_MAX, 0))), std::vector<int>{CS_FRAME_OK});
  Bytes endless(5000, 0x11);
  endless.push_back(0);
  EXPECT_EQ(read_all(reader, endless), std::vector<int>{CS_FRAME_TOO_LONG});
  Bytes zeros(CS_FRAME_MAX + 2, 1);  // decodes to one byte more than a frame may have
  zeros.push_back(0);
  EXPECT_EQ(read_all(reader, zeros), std::vector<int>{CS_FRAME_TOO_LONG});
  EXPECT_EQ(read_all(reader, frame_of({1, 2, 3})), std::vector<int>{CS_FRAME_OK}) << "in step again";
  EXPECT_EQ(reader.faults[CS_FRAME_TOO_LONG], 2U);
}

TEST(FrameReader, NamesEachKindOfDamage) {
  cs_reader reader;
  cs_reader_init(&reader);
  EXPECT_EQ(read_all(reader, {0, 0}), (std::vector<int>{CS_FRAME_EMPTY, CS_FRAME_EMPTY}));
  EXPECT_EQ(read_all(reader, {9, 1, 0}), std::vector<int>{CS_FRAME_BAD_STUFFING});
  EXPECT_EQ(read_all(reader, {3, 1, 2, 0}), std::vector<int>{CS_FRAME_TOO_SHORT});
  Bytes damaged = frame_of({1, 2, 3});
  damaged[5] ^= 0x80;
  EXPECT_EQ(read_all(reader, damaged), std::vector<int>{CS_FRAME_BAD_CRC});
}

TEST(FrameReader, GivesTypeSequenceAndPayload) {
  cs_reader reader;
  cs_reader_init(&reader);
  Bytes bytes(CS_ENCODED_MAX);
  const Bytes payload{0, 1, 0, 2};
  bytes.resize(cs_frame_encode(0x30, 0xBEEF, payload.data(), payload.size(), bytes.data()));
  cs_frame frame;
  int what = -1;
  for (const auto byte : bytes) what = cs_reader_push(&reader, byte, &frame);
  ASSERT_EQ(what, CS_FRAME_OK);
  EXPECT_EQ(frame.type, 0x30);
  EXPECT_EQ(frame.sequence, 0xBEEF);
  EXPECT_EQ(Bytes(frame.payload, frame.payload + frame.payload_count), payload);
}

}  // namespace
