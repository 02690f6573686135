// SPDX-License-Identifier: GPL-3.0-or-later
//
// Latencies against the closed forms are in tests/published/detector_table_test.cpp.
#include "protocol/board/detector.h"

#include <gtest/gtest.h>

#include <deque>
#include <memory>
#include <random>
#include <vector>

namespace {

cs_detector_config config(std::uint8_t kind, std::uint32_t window, std::int32_t threshold) {
  cs_detector_config c{};
  c.kind = kind;
  c.window_samples = window;
  c.threshold_counts = threshold;
  c.sum_threshold = std::int64_t{threshold} * window;
  c.building_counts = 10;
  return c;
}

/// Index of the deciding sample, or -1.
int decides_at(const cs_detector_config& c, const std::vector<std::int32_t>& samples) {
  auto detector = std::make_unique<cs_detector>();
  EXPECT_TRUE(cs_detector_init(detector.get(), &c));
  int at = -1;
  for (std::size_t k = 0; k < samples.size(); ++k) {
    if (!cs_detector_feed(detector.get(), samples[k])) continue;
    EXPECT_EQ(at, -1) << "decides once";
    at = static_cast<int>(k);
  }
  return at;
}

TEST(Detector, SustainedDecidesAtTheSampleAfterNInARow) {
  const std::vector<std::int32_t> samples{100, 100, 99, 100, 100, 100, 100, 100};
  EXPECT_EQ(decides_at(config(CS_DETECTOR_SUSTAINED, 3, 100), samples), 6);
  EXPECT_EQ(decides_at(config(CS_DETECTOR_SUSTAINED, 0, 100), samples), 0) << "N = 0 is a plain threshold";
  EXPECT_EQ(decides_at(config(CS_DETECTOR_SUSTAINED, 5, 100), samples), -1);
}

TEST(Detector, MovingMeanOfAWindowNotYetFullDividesByTheWholeWindow) {
  EXPECT_EQ(decides_at(config(CS_DETECTOR_MOVING_MEAN, 10, 100), std::vector<std::int32_t>(50, 250)), 3);
}

TEST(Detector, MeanAndGainAgreeWithASumTakenAfresh) {
  std::mt19937 random{7};
  for (int round = 0; round < 200; ++round) {
    const std::uint32_t window = random() % CS_DETECTOR_WINDOW_MAX + 1;
    const auto c =
        config(random() % 2 == 0 ? std::uint8_t{CS_DETECTOR_MOVING_MEAN} : std::uint8_t{CS_DETECTOR_VELOCITY_GAIN}, window, 40);
    std::vector<std::int32_t> samples(1500);
    for (auto& s : samples) s = static_cast<std::int32_t>(random() % 2001) - 1000 + round;
    int expected = -1;
    for (std::size_t k = 0; k < samples.size() && expected < 0; ++k) {
      std::int64_t sum = 0;
      for (std::size_t i = 0; i < window && i <= k; ++i) sum += samples[k - i];
      if (sum >= std::int64_t{40} * window) expected = static_cast<int>(k);
    }
    EXPECT_EQ(decides_at(c, samples), expected) << "window " << window << " round " << round;
  }
}

TEST(Detector, TakesRestOffFirstAndSurvivesTheEndsOfTheRange) {
  auto c = config(CS_DETECTOR_SUSTAINED, 1, 100);
  c.rest_counts = 2048;
  EXPECT_EQ(decides_at(c, {2147, 2147, 2148, 2148}), 3);
  c = config(CS_DETECTOR_MOVING_MEAN, 512, INT32_MAX);
  c.rest_counts = INT32_MIN;
  EXPECT_EQ(decides_at(c, std::vector<std::int32_t>(600, INT32_MAX)), 511);
  c.rest_counts = INT32_MAX;
  EXPECT_EQ(decides_at(c, std::vector<std::int32_t>(600, INT32_MIN)), -1);
}

TEST(Detector, KOfNCountsTheSamplesOfTheWindowAtTheThreshold) {
  auto c = config(CS_DETECTOR_K_OF_N, 5, 100);
  c.required_samples = 3;
  EXPECT_EQ(decides_at(c, {100, 0, 100, 0, 0, 100, 100, 0}), -1 + 7) << "samples 2, 5 and 6: sample 0 has left the window";
  EXPECT_EQ(decides_at(c, {100, 0, 99, 0, 100, 0, 0, 100, 99}), -1) << "never three of any five";
  c.required_samples = 5;
  EXPECT_EQ(decides_at(c, std::vector<std::int32_t>(9, 100)), 4) << "k = n is a sustained threshold of n - 1 periods";
  c.window_samples = c.required_samples = 1;
  EXPECT_EQ(decides_at(c, {99, 100}), 1) << "one of one is a plain threshold";
}

TEST(Detector, TheFilterRoundsDownAndSettlesOnTheLevelItself) {
  auto c = config(CS_DETECTOR_SUSTAINED, 0, 100);
  c.filter_shift = 2;
  // level 100 175 232 274 306 330 348 361 371 379 385 389 392 394 396 397 398 399 400; output is a quarter, rounded down
  EXPECT_EQ(decides_at(c, std::vector<std::int32_t>(100, 100)), 18);
  c.threshold_counts = 101;
  EXPECT_EQ(decides_at(c, std::vector<std::int32_t>(1000, 100)), -1);
  c = config(CS_DETECTOR_MOVING_MEAN, 1, 1);
  c.filter_shift = 1;
  // level -1 is halved down to -1, so the next sample finds level 1; towards zero it would find 0
  EXPECT_EQ(decides_at(c, {-1, 1, 1, 1}), 2) << "levels -1, 1, 2, 2: rounding towards zero would decide a sample later";
  c.filter_shift = CS_DETECTOR_FILTER_SHIFT_MAX + 1;
  cs_detector detector;
  EXPECT_FALSE(cs_detector_init(&detector, &c));
}

TEST(Detector, DeadlineAllowsADecisionUpToItselfAndInhibitsThere) {
  auto c = config(CS_DETECTOR_SUSTAINED, 4, 100);                                // building at 10, deciding at 100
  const std::vector<std::int32_t> samples{0, 10, 100, 100, 100, 100, 100, 100};  // building at 1, would decide at 6
  c.deadline_samples = 5;
  EXPECT_EQ(decides_at(c, samples), 6);
  c.deadline_samples = 4;
  EXPECT_EQ(decides_at(c, samples), -1);
  cs_detector detector;
  ASSERT_TRUE(cs_detector_init(&detector, &c));
  std::vector<int> states;
  for (const auto s : samples) {
    cs_detector_feed(&detector, s);
    states.push_back(detector.state);
  }
  EXPECT_EQ(states, (std::vector<int>{0, 1, 1, 1, 1, 3, 3, 3}));
  cs_detector_reset(&detector);
  EXPECT_EQ(detector.state, CS_DETECTOR_IDLE);
  for (int i = 0; i < 4; ++i) EXPECT_FALSE(cs_detector_feed(&detector, 100)) << "the run begins anew";
  EXPECT_TRUE(cs_detector_feed(&detector, 100));
}

TEST(Detector, AConfigurationOutOfRangeStaysInhibited) {
  std::vector<cs_detector_config> bad;
  for (const std::uint8_t kind : std::vector<std::uint8_t>{0, 4, 255}) bad.push_back(config(kind, 10, 100));
  bad.push_back(config(CS_DETECTOR_MOVING_MEAN, 0, 100));
  bad.push_back(config(CS_DETECTOR_MOVING_MEAN, CS_DETECTOR_WINDOW_MAX + 1, 100));
  bad.push_back(config(CS_DETECTOR_SUSTAINED, CS_DETECTOR_WINDOW_MAX + 1, 100));
  bad.push_back(config(CS_DETECTOR_VELOCITY_GAIN, 10, 0));
  bad.push_back(config(CS_DETECTOR_MOVING_MEAN, 10, -5));
  bad.push_back(config(CS_DETECTOR_SUSTAINED, 10, 0));
  bad.push_back(config(CS_DETECTOR_SUSTAINED, 10, 100));
  bad.back().building_counts = 0;
  for (const auto& c : bad) {
    cs_detector detector;
    EXPECT_FALSE(cs_detector_init(&detector, &c));
    for (int reset = 0; reset < 2; ++reset) {
      for (int i = 0; i < 600; ++i) EXPECT_FALSE(cs_detector_feed(&detector, INT32_MAX));
      EXPECT_EQ(detector.state, CS_DETECTOR_INHIBITED);
      cs_detector_reset(&detector);
    }
  }
}

}  // namespace
