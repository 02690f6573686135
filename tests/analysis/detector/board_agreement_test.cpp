// SPDX-License-Identifier: GPL-3.0-or-later
//
// The analysis may not include the board's code; this test holds the analysis' own detector to it, sample by sample.
#include <gtest/gtest.h>

#include <limits>
#include <memory>

#include "analysis/detector/detector_model.hpp"
#include "protocol/board/detector.h"
#include "tests/analysis/detector/random_settings.hpp"

namespace coldstroke::analysis {
namespace {

static_assert(kDetectorWindowMaxSamples == CS_DETECTOR_WINDOW_MAX);
static_assert(kDetectorFilterShiftMax == CS_DETECTOR_FILTER_SHIFT_MAX);
static_assert(static_cast<int>(DetectorKind::moving_mean) == CS_DETECTOR_MOVING_MEAN);
static_assert(static_cast<int>(DetectorKind::sustained) == CS_DETECTOR_SUSTAINED);
static_assert(static_cast<int>(DetectorKind::velocity_gain) == CS_DETECTOR_VELOCITY_GAIN);
static_assert(static_cast<int>(DetectorKind::k_of_n) == CS_DETECTOR_K_OF_N);
static_assert(static_cast<int>(DetectorState::inhibited) == CS_DETECTOR_INHIBITED);

cs_detector_config for_board(const DetectorSettings& s) {
  cs_detector_config c{};
  c.kind = static_cast<std::uint8_t>(s.kind);
  c.rest_counts = s.rest_counts;
  c.threshold_counts = s.threshold_counts;
  c.sum_threshold = s.sum_threshold;
  c.window_samples = s.window_samples;
  c.building_counts = s.building_counts;
  c.deadline_samples = s.deadline_samples;
  c.required_samples = s.required_samples;
  c.filter_shift = s.filter_shift;
  return c;
}

/// First sample at which state or decision differ, or -1.
std::ptrdiff_t first_difference(const DetectorSettings& settings, const std::vector<std::int32_t>& counts, cs_detector& board) {
  const cs_detector_config config = for_board(settings);
  if (cs_detector_init(&board, &config) != in_range(settings)) return 0;
  DetectorModel model{settings};
  if (board.state != static_cast<std::uint8_t>(model.state())) return 0;
  for (std::size_t k = 0; k < counts.size(); ++k) {
    const bool board_decides = cs_detector_feed(&board, counts[k]);
    if (model.feed(counts[k]) != board_decides || board.state != static_cast<std::uint8_t>(model.state()))
      return static_cast<std::ptrdiff_t>(k);
  }
  return -1;
}

TEST(BoardAgreement, HoldsForAHundredThousandRandomStreams) {
  auto board = std::make_unique<cs_detector>();
  std::size_t decided = 0, inhibited = 0;
  for (std::uint64_t seed = 0; seed < 100'000; ++seed) {
    Engine engine{seed};
    const std::int32_t level_max = between(engine, 0, 1) == 0 ? 2047 : 32767;
    const DetectorSettings settings = random_settings(engine, level_max, between(engine, 0, 9) == 0 ? 512 : 40);
    const auto counts = random_stream(engine, static_cast<std::size_t>(between(engine, 1, 400)), level_max);
    ASSERT_EQ(first_difference(settings, counts, *board), -1) << "seed " << seed << " kind " << word(settings.kind);
    decided += board->state == CS_DETECTOR_DECIDED ? 1 : 0;
    inhibited += board->state == CS_DETECTOR_INHIBITED ? 1 : 0;
  }
  EXPECT_GT(decided, 20'000u) << "the streams must put the detectors to work";
  EXPECT_GT(inhibited, 5'000u);
}

TEST(BoardAgreement, HoldsAtTheEndsOfTheIntegers) {
  constexpr std::int32_t kLow = std::numeric_limits<std::int32_t>::min(), kHigh = std::numeric_limits<std::int32_t>::max();
  auto board = std::make_unique<cs_detector>();
  for (std::uint64_t seed = 0; seed < 4'000; ++seed) {
    Engine engine{seed};
    DetectorSettings s = random_settings(engine, 32767, 60);
    s.rest_counts = std::vector{kLow, -1, 0, kHigh}[static_cast<std::size_t>(between(engine, 0, 3))];
    s.threshold_counts = std::vector{1, kHigh - 1, kHigh}[static_cast<std::size_t>(between(engine, 0, 2))];
    s.filter_shift = static_cast<std::uint8_t>(between(engine, 0, kDetectorFilterShiftMax + 1));
    std::vector<std::int32_t> counts(300);
    for (auto& c : counts)
      c = std::vector{kLow, kLow + 1, -1, 0, 1, kHigh, kHigh, kHigh}[static_cast<std::size_t>(between(engine, 0, 7))];
    ASSERT_EQ(first_difference(s, counts, *board), -1) << "seed " << seed << " kind " << word(s.kind);
  }
}

TEST(BoardAgreement, HoldsForSettingsNoBoardAccepts) {
  auto board = std::make_unique<cs_detector>();
  const std::vector<std::int32_t> loud(50, 1000);
  DetectorSettings good;
  good.kind = DetectorKind::k_of_n;
  good.threshold_counts = good.building_counts = 5;
  good.window_samples = 10;
  good.required_samples = 3;
  ASSERT_TRUE(in_range(good));
  std::vector<DetectorSettings> bad(6, good);
  bad[0].kind = static_cast<DetectorKind>(9);
  bad[1].required_samples = 11;
  bad[2].required_samples = 0;
  bad[3].window_samples = 513;
  bad[4].building_counts = 0;
  bad[5].filter_shift = 13;
  for (const auto& s : bad) {
    EXPECT_FALSE(in_range(s));
    EXPECT_EQ(first_difference(s, loud, *board), -1);
    EXPECT_EQ(state_changes(s, loud), (std::vector<StateChange>{{0, DetectorState::inhibited}}));
  }
}

}  // namespace
}  // namespace coldstroke::analysis
