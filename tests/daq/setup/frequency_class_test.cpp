// SPDX-License-Identifier: GPL-3.0-or-later
#include <gmock/gmock.h>

#include "daq/setup/setup.hpp"

namespace coldstroke::daq {
namespace {

/// The virtual rig's setup with this in the force channel.
Result<Setup> with_class(const std::string& number) {
  std::string text{virtual_setup_text()};
  const auto at = text.find("noise_max");
  return parse_setup(text.insert(at, "frequency_class = " + number + "\n"), "bench.toml");
}

TEST(FrequencyClass, IsOneOfFourOrNone) {
  for (const int number : {60, 180, 600, 1000, 0}) {
    const auto shown = with_class(std::to_string(number));
    ASSERT_TRUE(shown) << shown.error().what;
    EXPECT_EQ(shown->channel(analysis::Role::force)->frequency_class, number);
  }
  EXPECT_EQ(parse_setup(virtual_setup_text(), "virtual")->channel(analysis::Role::force)->frequency_class, 0);
}

TEST(FrequencyClass, AnythingElseIsRefusedByName) {
  for (const char* bad : {"61", "-60", "2000", "\"CFC 180\"", "180.5"}) {
    const auto refused = with_class(bad);
    ASSERT_FALSE(refused) << bad;
    EXPECT_THAT(refused.error().what + refused.error().where, testing::HasSubstr("frequency_class")) << bad;
  }
}

}  // namespace
}  // namespace coldstroke::daq
