// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the bench makes of a channel that reads the same count for a second.
#include <gtest/gtest.h>

#include "daq/bench/live_channels.hpp"

namespace coldstroke::daq {
namespace {

constexpr std::size_t kBlocks = 100, kSamples = 20;
constexpr std::uint64_t kPeriodUs = 500;

/// Health of the acceleration after a second of the flight board's blocks; every `change_every`-th sample is a count higher
/// (0: none is).
ChannelHealth after_a_second(bool may_stand_still, std::size_t change_every) {
  auto setup = parse_setup(virtual_setup_text(), "built-in setup");
  EXPECT_TRUE(setup) << setup.error().what;
  std::size_t place = 0;
  while (setup->channels[place].role != analysis::Role::vehicle_acceleration) ++place;
  setup->channels[place].may_stand_still = may_stand_still;
  LiveChannels live{*setup};
  wire::SampleBlock block;
  block.stream = setup->channels[place].stream;
  block.channels = 3;
  block.bits = 16;
  std::size_t sample = 0;
  for (std::size_t k = 0; k < kBlocks; ++k) {
    block.node_time_us = k * kSamples * kPeriodUs;
    block.first_index = k * kSamples;
    block.counts.clear();
    for (std::size_t i = 0; i < kSamples; ++i, ++sample) {
      const bool higher = change_every > 0 && sample % change_every == 0;
      block.counts.insert(block.counts.end(), {0, 0, 328 + (higher ? 1 : 0)});
    }
    live.receive(Node::flight, block, nullptr, HostTime{});
  }
  return live.health(HostTime{})[place];
}

TEST(ChannelHealth, TheSameCountForHalfASecondIsFrozen) {
  EXPECT_TRUE(after_a_second(false, 0).frozen);
  EXPECT_FALSE(after_a_second(false, 500).frozen) << "one count in a quarter of a second is a working converter";
}

TEST(ChannelHealth, AChannelQuieterThanACountMayStandStill) {
  const ChannelHealth quiet = after_a_second(true, 0);
  EXPECT_FALSE(quiet.frozen);
  EXPECT_EQ(quiet.noise, 0.0);
  EXPECT_NEAR(quiet.mean, 328 * 100.0 * 9.80665 / 32768.0, 1.0e-9);
}

}  // namespace
}  // namespace coldstroke::daq
