// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/evidence/flight_handover.hpp"

#include <gmock/gmock.h>

namespace coldstroke::analysis {
namespace {

using testing::HasSubstr;

TEST(Handover, alike_configurations_have_no_difference_whatever_the_spelling_of_numbers) {
  const auto handover =
      compare_for_flight({{"mass_kg", "1.5"}, {"firmware", "kestrel 3f9c"}}, {{"firmware", "kestrel 3f9c"}, {"mass_kg", "1.50"}});
  EXPECT_TRUE(handover.differences.empty());
  EXPECT_EQ(handover.same.size(), 2U);
}

TEST(Handover, every_difference_is_listed_with_what_it_does_to_the_evidence) {
  const auto handover = compare_for_flight({{"mass_kg", "1.5"}, {"firmware", "kestrel 3f9c"}, {"detector.window_ms", "20"}},
                                           {{"mass_kg", "1.8"},
                                            {"firmware", "kestrel 41aa"},
                                            {"motor", "D9"},
                                            {"parachute", "0.6 m"},
                                            {"balance.centre_of_mass_m", "0.41"}});
  ASSERT_EQ(handover.differences.size(), 6U);
  EXPECT_EQ(handover.differences[0].key, "mass_kg");
  EXPECT_THAT(handover.differences[0].consequence, HasSubstr("20.0 % more: Acceleration"));
  EXPECT_THAT(handover.differences[1].consequence, HasSubstr("does not carry over"));
  EXPECT_EQ(handover.differences[2].tested, "");
  EXPECT_THAT(handover.differences[2].consequence, HasSubstr("The trials were inert"));
  EXPECT_THAT(handover.differences[3].consequence, HasSubstr("not part of what was tested"));
  EXPECT_THAT(handover.differences[4].consequence, HasSubstr("tip-off"));
  EXPECT_EQ(handover.differences[5].key, "detector.window_ms");
  EXPECT_THAT(handover.differences[5].consequence, HasSubstr("does not state it"));
}

TEST(Handover, nothing_stated_is_all_differences) {
  EXPECT_EQ(compare_for_flight({{"mass_kg", "1.5"}}, {}).differences.size(), 1U);
  EXPECT_TRUE(compare_for_flight({}, {}).differences.empty());
}

}  // namespace
}  // namespace coldstroke::analysis
