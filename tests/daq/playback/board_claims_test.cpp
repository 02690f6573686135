// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/playback/board_claims.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;

BoardClaims claims() {
  BoardClaims out;
  out.identity.firmware_name = "bench flight";
  const float scale = static_cast<float>(64.0 * 9.80665 / 32768.0);
  out.stream = {1,
                16,
                500000,
                {{wire::Quantity::acceleration, scale, "accel_x"},
                 {wire::Quantity::acceleration, scale, "accel_y"},
                 {wire::Quantity::acceleration, scale, "accel_z"}}};
  out.settings = {{0, "detector", "moving_mean"}, {1, "axis", "z"},         {2, "window_ms", "20"},  {3, "threshold_g", "4"},
                  {4, "building_g", "1"},         {5, "deadline_ms", "60"}, {6, "filter_ms", "0.5"}, {7, "rest_g", "1"}};
  return out;
}

TEST(BoardClaims, GiveTheDetectorTheyDescribe) {
  const auto spec = claimed_detector(claims());
  ASSERT_TRUE(spec) << spec.error().what;
  EXPECT_EQ(spec->kind, analysis::DetectorKind::moving_mean);
  EXPECT_EQ(spec->window_seconds, 0.02);
  EXPECT_EQ(spec->threshold_g, 4.0);
  EXPECT_EQ(spec->deadline_seconds, 0.06);
  EXPECT_EQ(spec->board, (analysis::BoardSampling{2000.0, 16, 64.0})) << "the 32-bit scale is taken for the round range it means";
}

TEST(BoardClaims, ADetectorNobodyKnowsIsNamed) {
  auto strange = claims();
  strange.settings[0].value = "wavelet";
  const auto spec = claimed_detector(strange);
  ASSERT_FALSE(spec);
  EXPECT_THAT(spec.error().what, HasSubstr("wavelet"));
}

TEST(BoardClaims, MissingAndImpossibleSettingsAreNamed) {
  for (std::size_t leave : {0U, 2U, 3U, 4U}) {
    auto less = claims();
    const std::string key = less.settings[leave].key;
    less.settings.erase(less.settings.begin() + static_cast<std::ptrdiff_t>(leave));
    const auto spec = claimed_detector(less);
    ASSERT_FALSE(spec) << key;
    EXPECT_THAT(spec.error().what, HasSubstr(key));
  }
  for (const char* bad : {"", "4g", "nan", "inf", "1e999"}) {
    auto strange = claims();
    strange.settings[3].value = bad;
    EXPECT_FALSE(claimed_detector(strange)) << bad;
  }
  auto bare = claims();
  bare.stream.channels.clear();
  EXPECT_FALSE(claimed_detector(bare));
}

TEST(BoardClaims, EachDifferenceFromTheTableIsAFinding) {
  const auto claimed = claimed_detector(claims());
  auto expected = *claimed;
  EXPECT_THAT(compare_claims(*claimed, expected), testing::IsEmpty());
  expected.threshold_g = 5.0;
  expected.window_seconds = 0.03;
  const auto findings = compare_claims(*claimed, expected);
  ASSERT_EQ(findings.size(), 2U);
  EXPECT_EQ(findings[0].kind, "claim_differs");
  EXPECT_THAT(findings[0].message, HasSubstr("40"));
  EXPECT_THAT(findings[0].message, HasSubstr("60"));
}

}  // namespace
}  // namespace coldstroke::daq
