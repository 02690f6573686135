// SPDX-License-Identifier: GPL-3.0-or-later
#include <gmock/gmock.h>

#include "daq/setup/setup.hpp"

namespace coldstroke::daq {
namespace {

/// The virtual rig's setup with this in the channel of that name.
Result<Setup> with_word(const std::string& channel, const std::string& word) {
  std::string text{virtual_setup_text()};
  const auto at = text.find("rest_low", text.find("name = \"" + channel + "\""));
  return parse_setup(text.insert(at, "standing_still = \"" + word + "\"\n"), "bench.toml");
}

TEST(StandingStill, IsAFaultUnlessTheSetupExpectsIt) {
  const auto expected = with_word("acceleration", "expected"), fault = with_word("acceleration", "fault");
  ASSERT_TRUE(expected) << expected.error().where;
  ASSERT_TRUE(fault) << fault.error().where;
  for (const ChannelSetup& channel : expected->channels) EXPECT_EQ(channel.may_stand_still, channel.name == "acceleration");
  for (const ChannelSetup& channel : fault->channels) EXPECT_FALSE(channel.may_stand_still) << channel.name;
}

TEST(StandingStill, IsNeverExpectedOfWhatInterlocksJudgeBy) {
  for (const char* channel : {"force", "supply", "chamber"}) {
    const auto refused = with_word(channel, "expected");
    ASSERT_FALSE(refused) << channel;
    EXPECT_THAT(refused.error().what + refused.error().where, testing::HasSubstr("standing_still")) << channel;
  }
  EXPECT_FALSE(with_word("acceleration", "sometimes"));
}

}  // namespace
}  // namespace coldstroke::daq
