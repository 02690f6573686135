// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/detector_spec.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "analysis/detector/board_counts.hpp"

namespace coldstroke::analysis {
namespace {

using testing::HasSubstr;

DetectorSpec plain() {
  DetectorSpec s;
  s.name = "plain";
  s.window_seconds = 0.05;
  s.threshold_g = 4.0;
  s.velocity_gain_mps = 1.5;
  s.building_g = 1.0;
  s.board = {2000.0, 12, 16.0};  // one count is 1/128 g
  return s;
}

std::string fault(const DetectorSpec& spec) {
  const auto s = settings_of(spec);
  if (s) return "accepted";
  EXPECT_FALSE(s.error().remedy.empty());
  return s.error().what + " | " + s.error().where;
}

TEST(SettingsOf, RoundsEveryNumberToTheNearest) {
  DetectorSpec spec = plain();
  spec.deadline_seconds = 0.06;
  const auto s = settings_of(spec);
  ASSERT_TRUE(s);
  DetectorSettings expected;
  expected.kind = DetectorKind::moving_mean;
  expected.rest_counts = 128;
  expected.threshold_counts = 512;
  expected.window_samples = 100;
  expected.building_counts = 128;
  expected.deadline_samples = 120;
  EXPECT_EQ(*s, expected);
  EXPECT_DOUBLE_EQ(threshold_in_force(*s, spec.board), 4.0);
  spec.threshold_g = 4.0 + 0.5 / 128.0;
  EXPECT_EQ(settings_of(spec)->threshold_counts, 513) << "a half goes away from zero";
  spec.kind = DetectorKind::velocity_gain;
  EXPECT_EQ(settings_of(spec)->sum_threshold, std::llround(1.5 * 2000.0 * 128.0 / 9.80665));
  EXPECT_NEAR(threshold_in_force(*settings_of(spec), spec.board), 1.5, 2e-5);
  spec.kind = DetectorKind::sustained;
  spec.window_seconds = 0.0;
  EXPECT_EQ(settings_of(spec)->window_samples, 0u);
}

TEST(SettingsOf, NamesTheKeyAtFault) {
  EXPECT_EQ(fault(plain()), "accepted");
  DetectorSpec s = plain();
  s.window_seconds = 0.3;
  EXPECT_THAT(fault(s), HasSubstr("window of 600.000000 samples at 2000.000000 Hz | detector \"plain\", window_seconds"));
  s.window_samples = 10;
  EXPECT_THAT(fault(s), HasSubstr("given twice"));
  s.window_seconds.reset();
  EXPECT_EQ(fault(s), "accepted");
  s.window_samples = 0;
  EXPECT_THAT(fault(s), HasSubstr("window_samples"));
  s.window_samples.reset();
  EXPECT_THAT(fault(s), HasSubstr("no window is given"));
  for (const double bad : {0.0, -4.0, 0.003, std::nan(""), 15.5, 1.0e30}) {
    s = plain();
    s.threshold_g = bad;
    EXPECT_THAT(fault(s), HasSubstr("threshold_g")) << bad;
    s = plain();
    s.building_g = bad;
    EXPECT_THAT(fault(s), HasSubstr("building_g")) << bad;
  }
  s = plain();
  s.deadline_seconds = 0.0001;
  EXPECT_THAT(fault(s), HasSubstr("deadline_seconds"));
  s = plain();
  s.kind = DetectorKind::velocity_gain;
  s.velocity_gain_mps = -1.0;
  EXPECT_THAT(fault(s), HasSubstr("velocity_gain_mps"));
  s = plain();
  s.kind = DetectorKind::k_of_n;
  s.required_samples = 101;
  EXPECT_THAT(fault(s), HasSubstr("101 samples required of a window of 100 | detector \"plain\", required_samples"));
  s = plain();
  s.filter_shift = 13;
  EXPECT_THAT(fault(s), HasSubstr("filter_shift"));
  s = plain();
  s.rest_g = 17.0;
  EXPECT_THAT(fault(s), HasSubstr("rest_g"));
  for (const BoardSampling& board :
       {BoardSampling{0.0, 12, 16.0}, BoardSampling{2000.0, 30, 16.0}, BoardSampling{2000.0, 12, 0.0}}) {
    s = plain();
    s.board = board;
    EXPECT_THAT(fault(s), HasSubstr("board."));
  }
}

TEST(Filter, TimeConstantsAndTheirNearestShift) {
  for (int shift = 1; shift <= kDetectorFilterShiftMax; ++shift) {
    EXPECT_EQ(nearest_filter_shift(filter_time_constant_seconds(shift, 2000.0), 2000.0), shift);
    // The definition, tried on the filter itself: a step reaches 1 - 1/e = 0.63212056 after one time constant.
    const double samples = filter_time_constant_seconds(shift, 1.0);
    const std::vector<std::int32_t> step(static_cast<std::size_t>(std::ceil(samples)), 10'000'000);
    const auto out = conditioned(step, 0, shift);
    EXPECT_GE(out.back(), 6'321'203) << shift;
    if (out.size() > 1) {
      EXPECT_LE(out[out.size() - 2], 6'321'208) << shift;
    }
  }
  EXPECT_EQ(nearest_filter_shift(0.0, 2000.0), 0);
  EXPECT_EQ(nearest_filter_shift(std::nan(""), 2000.0), 0);
  EXPECT_EQ(filter_time_constant_seconds(0, 2000.0), 0.0);
}

}  // namespace
}  // namespace coldstroke::analysis
