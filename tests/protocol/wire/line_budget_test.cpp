// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the default streams take of the default lines, from the bytes that the boards and the encoder really produce.
#include <gtest/gtest.h>

#include "tests/protocol/board/flight_on_desk.hpp"
#include "tests/protocol/board/rig_on_desk.hpp"

namespace coldstroke::wire {
namespace {

constexpr double kBitsAByte = 10.0;  // 8N1
constexpr double kSpare = 1.0 / 3.0;

/// Share of the line that `bytes` take in one second.
double share(std::uint64_t bytes, double baud) { return static_cast<double>(bytes) * kBitsAByte / baud; }

TEST(LineBudget, TheRigBoardLeavesAThirdOfThreeMegabaud) {
  RigOnDesk desk;       // 10 kHz, 4 channels, 24 bit, states, heartbeats coming in
  desk.counts[0] = -1;  // no zero byte to help the stuffing, none to hinder it
  const std::uint64_t before = desk.decoder().counts().bytes;
  const std::uint64_t begin = desk.now_us;
  desk.said();
  for (int i = 0; i < 10; ++i) {
    desk.run(100000);
    desk.send(ClockRequest{static_cast<std::uint32_t>(i), 1});
  }
  ASSERT_EQ(desk.now_us - begin, 1000000U);
  const auto said = desk.said();
  EXPECT_EQ(all_of<SampleBlock>(said).size(), 500U);
  EXPECT_GE(all_of<RigState>(said).size(), 50U);
  EXPECT_EQ(all_of<ClockReply>(said).size(), 10U);
  const double used = share(desk.decoder().counts().bytes - before, 3000000.0);
  EXPECT_LE(used, 1.0 - kSpare);
  RecordProperty("share_of_line", std::to_string(used));
  std::cout << "rig board uses " << 100.0 * used << " % of 3 000 000 baud\n";
}

TEST(LineBudget, TheFlightBoardLeavesAThirdOf921600Baud) {
  FlightOnDesk desk;  // 2 kHz, 3 channels, 16 bit, states
  desk.said();
  const std::uint64_t before = desk.decoder().counts().bytes;
  for (int i = 0; i < 10; ++i) {
    desk.run(100000);
    desk.send(ClockRequest{static_cast<std::uint32_t>(i), 1});
  }
  const auto said = desk.said();
  EXPECT_EQ(all_of<SampleBlock>(said).size(), 200U);
  EXPECT_GE(all_of<FlightState>(said).size(), 50U);
  const double used = share(desk.decoder().counts().bytes - before, 921600.0);
  EXPECT_LE(used, 1.0 - kSpare);
  RecordProperty("share_of_line", std::to_string(used));
  std::cout << "flight board uses " << 100.0 * used << " % of 921 600 baud\n";
}

TEST(LineBudget, TheHostsOwnFramesAreNothingBesideThem) {
  Encoder encoder;
  std::vector<std::byte> bytes;
  for (std::uint32_t i = 0; i < 20; ++i) encoder.append(Heartbeat{i}, bytes);
  for (std::uint32_t i = 0; i < 10; ++i) encoder.append(ClockRequest{i, 1}, bytes);
  EXPECT_LE(share(bytes.size(), 921600.0), 0.01);
}

}  // namespace
}  // namespace coldstroke::wire
