// SPDX-License-Identifier: GPL-3.0-or-later
//
// Checksum and stuffing against published vectors.
#include <gtest/gtest.h>

#include <numeric>
#include <vector>

#include "protocol/board/frame.h"

namespace {

using Bytes = std::vector<std::uint8_t>;

std::uint32_t crc(const Bytes& bytes) { return cs_crc32c(0, bytes.data(), bytes.size()); }

// RFC 3720 (iSCSI, April 2004), appendix B.4 "CRC Examples". The RFC lists the four bytes as sent, least significant first.
TEST(PublishedCrc32c, ThirtyTwoZeros) { EXPECT_EQ(crc(Bytes(32, 0x00)), 0x8A9136AAU); }

TEST(PublishedCrc32c, ThirtyTwoOnes) { EXPECT_EQ(crc(Bytes(32, 0xFF)), 0x62A8AB43U); }

TEST(PublishedCrc32c, ThirtyTwoIncrementing) {
  Bytes bytes(32);
  std::iota(bytes.begin(), bytes.end(), std::uint8_t{0});
  EXPECT_EQ(crc(bytes), 0x46DD794EU);
}

TEST(PublishedCrc32c, ThirtyTwoDecrementing) {
  Bytes bytes(32);
  std::iota(bytes.rbegin(), bytes.rend(), std::uint8_t{0});
  EXPECT_EQ(crc(bytes), 0x113FDB5CU);
}

TEST(PublishedCrc32c, AnIscsiReadCommand) {
  const Bytes bytes{0x01, 0xC0, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00,
                    0x14, 0x00, 0x00, 0x00, 0x00, 0x00, 0x04, 0x00, 0x00, 0x00, 0x00, 0x14, 0x00, 0x00, 0x00, 0x18,
                    0x28, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x02, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00};
  EXPECT_EQ(crc(bytes), 0xD9963A56U);
}

// The check value that catalogues of checksums give for the nine ASCII digits (from memory, common practice).
TEST(PublishedCrc32c, TheNineDigits) { EXPECT_EQ(crc({'1', '2', '3', '4', '5', '6', '7', '8', '9'}), 0xE3069283U); }

Bytes stuffed(const Bytes& bytes) {
  Bytes out(bytes.size() + bytes.size() / 254 + 1);
  out.resize(cs_cobs_encode(bytes.data(), bytes.size(), out.data()));
  return out;
}

Bytes unstuffed(const Bytes& bytes) {
  Bytes out(bytes.size());
  const std::size_t count = cs_cobs_decode(bytes.data(), bytes.size(), out.data());
  if (count == SIZE_MAX) return {0xBA, 0xD0};
  out.resize(count);
  return out;
}

void expect_both_ways(const Bytes& plain, const Bytes& coded) {
  EXPECT_EQ(stuffed(plain), coded);
  EXPECT_EQ(unstuffed(coded), plain);
}

Bytes ones(std::size_t count) { return Bytes(count, 0x01); }

// S. Cheshire, M. Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM Transactions on Networking 7(2), April 1999,
// figures 2 and 3; the bytes as public implementations quote them.
TEST(PublishedCobs, Figure2ALongPacketIsCutIntoGroupsOf254) {
  Bytes plain = ones(679);
  plain.push_back(0x00);
  Bytes coded;
  for (const std::size_t group : {std::size_t{254}, std::size_t{254}, std::size_t{171}}) {
    coded.push_back(static_cast<std::uint8_t>(group + 1));
    coded.insert(coded.end(), group, 0x01);
  }
  coded.push_back(0x01);
  expect_both_ways(plain, coded);
}

TEST(PublishedCobs, Figure3TheHeadOfAnInternetPacket) {
  expect_both_ways({0x45, 0x00, 0x00, 0x2C, 0x4C, 0x79, 0x00, 0x00, 0x40, 0x06, 0x4F, 0x37},
                   {0x02, 0x45, 0x01, 0x04, 0x2C, 0x4C, 0x79, 0x01, 0x05, 0x40, 0x06, 0x4F, 0x37});
}

// The short examples of the encyclopedia article on the method (Wikipedia, "Consistent Overhead Byte Stuffing", encoding
// examples, delimiter left off; from memory).
TEST(PublishedCobs, ShortExamples) {
  expect_both_ways({0x00}, {0x01, 0x01});
  expect_both_ways({0x00, 0x00}, {0x01, 0x01, 0x01});
  expect_both_ways({0x00, 0x11, 0x00}, {0x01, 0x02, 0x11, 0x01});
  expect_both_ways({0x11, 0x22, 0x00, 0x33}, {0x03, 0x11, 0x22, 0x02, 0x33});
  expect_both_ways({0x11, 0x22, 0x33, 0x44}, {0x05, 0x11, 0x22, 0x33, 0x44});
  expect_both_ways({0x11, 0x00, 0x00, 0x00}, {0x02, 0x11, 0x01, 0x01, 0x01});
}

Bytes counting(unsigned first, unsigned count) {
  Bytes bytes(count);
  for (unsigned i = 0; i < count; ++i) bytes[i] = static_cast<std::uint8_t>(first + i);
  return bytes;
}

Bytes joined(std::initializer_list<Bytes> parts) {
  Bytes out;
  for (const Bytes& part : parts) out.insert(out.end(), part.begin(), part.end());
  return out;
}

// The same article's examples with 254 and 255 bytes.
TEST(PublishedCobs, LongExamples) {
  const Bytes from_one = counting(1, 254);  // 01 .. FE
  EXPECT_EQ(unstuffed(joined({{0xFF}, from_one})), from_one) << "a receiver takes it without the last group";
  EXPECT_EQ(stuffed(from_one), joined({{0xFF}, from_one, {0x01}})) << "the paper's sender ends its last group always";
  expect_both_ways(joined({{0x00}, from_one}), joined({{0x01, 0xFF}, from_one, {0x01}}));
  expect_both_ways(counting(1, 255), joined({{0xFF}, from_one, {0x02, 0xFF}}));
  expect_both_ways(joined({counting(2, 254), {0x00}}), joined({{0xFF}, counting(2, 254), {0x01, 0x01}}));
  expect_both_ways(joined({counting(3, 253), {0x00, 0x01}}), joined({{0xFE}, counting(3, 253), {0x02, 0x01}}));
}

}  // namespace
