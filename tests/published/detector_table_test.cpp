// SPDX-License-Identifier: GPL-3.0-or-later
//
// The reference detectors against a table of closed forms and discrete rules derived outside this project's code:
// cases "detector-table-1khz" (computed, loop against vectorised program), "detector-mean-discrete-rule" (exact rational
// brute force) and "detector-mean-rule" (closed form W a_th / A, checked by simulation at 2 us) of the signal-processing
// reference values. The detector with an exponential window of that table is not one of ours.
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <memory>
#include <numbers>
#include <optional>
#include <string>
#include <vector>

#include "protocol/board/detector.h"

namespace {

constexpr double kCountsPerG = 1e6;  // fine enough that rounding a sample moves no row; whole numbers of g/2 stay exact
constexpr double kStandardGravity = 9.80665;
constexpr int kNever = -1;

using Pulse = std::function<double(int)>;  // g at sample k, 1 kHz

int index_of_decision(const cs_detector_config& config, const Pulse& pulse, int samples) {
  auto detector = std::make_unique<cs_detector>();
  EXPECT_TRUE(cs_detector_init(detector.get(), &config));
  for (int k = 0; k < samples; ++k) {
    if (cs_detector_feed(detector.get(), static_cast<std::int32_t>(std::lround(pulse(k) * kCountsPerG)))) return k;
  }
  return kNever;
}

cs_detector_config detector(std::uint8_t kind, std::uint32_t window, double threshold_g) {
  cs_detector_config config{};
  config.kind = kind;
  config.window_samples = window;
  config.threshold_counts = static_cast<std::int32_t>(std::lround(threshold_g * kCountsPerG));
  config.building_counts = 1;
  return config;
}

/// `speed` in m/s at 1 kHz; the window of 512 samples is longer than any row of the table needs.
cs_detector_config velocity_gain(double speed) {
  cs_detector_config config = detector(CS_DETECTOR_VELOCITY_GAIN, CS_DETECTOR_WINDOW_MAX, 1.0);
  config.sum_threshold = static_cast<std::int64_t>(std::ceil(speed / kStandardGravity * 1000.0 * kCountsPerG));
  return config;
}

TEST(PublishedDetectorTable, AtOneKilohertzEveryRowIsTheSampleThatTheTableSays) {
  const auto rectangle = [](double g, int ms) { return Pulse{[=](int k) { return k < ms ? g : 0.0; }}; };
  const auto half_sine = [](double g, int ms) {
    return Pulse{[=](int k) { return k < ms ? g * std::sin(std::numbers::pi * k / ms) : 0.0; }};
  };
  const auto ramp = [](int ms) { return Pulse{[=](int k) { return k < ms ? 0.5 * k : 0.0; }}; };
  struct Row {
    std::string pulse;
    Pulse shape;
    std::vector<int> index;  // T, S, M50, M20, V3, V1.5
  };
  const std::vector<Row> table{
      {"P1 rectangle 10 g 50 ms", rectangle(10, 50), {0, 20, 19, 7, 30, 15}},
      {"P2 rectangle 10 g 15 ms", rectangle(10, 15), {0, kNever, kNever, 7, kNever, kNever}},
      {"P3 half-sine 20 g 40 ms", half_sine(20, 40), {3, 23, 17, 10, 23, 15}},
      {"P4 half-sine 8 g 20 ms", half_sine(8, 20), {4, kNever, kNever, 14, kNever, kNever}},
      {"P5 sawtooth 20 g 40 ms", ramp(40), {8, 28, 28, 18, 35, 25}},
      {"P6 ramp 0.5 g/ms", ramp(1000), {8, 28, 28, 18, 35, 25}},
      {"P7 rectangle 3 g 200 ms", rectangle(3, 200), {kNever, kNever, kNever, kNever, 101, 50}},
  };
  const std::vector<std::pair<std::string, cs_detector_config>> detectors{
      {"T 4 g", detector(CS_DETECTOR_SUSTAINED, 0, 4)},
      {"S 4 g held 20 ms", detector(CS_DETECTOR_SUSTAINED, 20, 4)},
      {"M50 mean over 50 ms 4 g", detector(CS_DETECTOR_MOVING_MEAN, 50, 4)},
      {"M20 mean over 20 ms 4 g", detector(CS_DETECTOR_MOVING_MEAN, 20, 4)},
      {"V3 3 m/s", velocity_gain(3.0)},
      {"V1.5 1.5 m/s", velocity_gain(1.5)},
  };
  for (const Row& row : table) {
    for (std::size_t i = 0; i < detectors.size(); ++i)
      EXPECT_EQ(index_of_decision(detectors[i].second, row.shape, 400), row.index[i]) << row.pulse << ", " << detectors[i].first;
  }
}

TEST(PublishedDetectorTable, MovingMeanFollowsTheDiscreteRule) {
  struct Case {
    std::uint32_t window;
    double threshold_g, pulse_g;
    int pulse_samples, index;
  };
  // index = ceil(N a_th / A) - 1 if that many samples fit both window and pulse
  for (const Case& c : {Case{50, 4, 10, 50, 19}, Case{50, 4, 10, 19, kNever}, Case{50, 4, 10, 20, 19}, Case{32, 3, 7, 100, 13},
                        Case{10, 2, 2, 10, 9}}) {
    const auto pulse = [&c](int k) { return k < c.pulse_samples ? c.pulse_g : 0.0; };
    EXPECT_EQ(index_of_decision(detector(CS_DETECTOR_MOVING_MEAN, c.window, c.threshold_g), pulse, 400), c.index)
        << c.window << " samples, pulse " << c.pulse_samples;
  }
}

TEST(PublishedDetectorTable, MovingMeanFollowsTheClosedFormForRectangles) {
  struct Case {
    double pulse_g, window_ms, pulse_ms;
    std::optional<double> latency_ms;
    double samples_per_ms;  // as fine as the longest window allows; every time above is a whole number of samples
  };
  for (const Case& c :
       {Case{10, 50, 50, 20.0, 10}, Case{10, 50, 19.9, {}, 10}, Case{10, 50, 20, 20.0, 10}, Case{10, 50, 15, {}, 10},
        Case{4, 50, 60, 50.0, 10}, Case{3.9, 50, 500, {}, 10}, Case{20, 100, 25, 20.0, 5}, Case{20, 100, 15, {}, 5}}) {
    const int pulse_samples = static_cast<int>(std::lround(c.pulse_ms * c.samples_per_ms));
    const auto window = static_cast<std::uint32_t>(std::lround(c.window_ms * c.samples_per_ms));
    const auto pulse = [&](int k) { return k < pulse_samples ? c.pulse_g : 0.0; };
    const int index = index_of_decision(detector(CS_DETECTOR_MOVING_MEAN, window, 4), pulse, 6000);
    ASSERT_EQ(index != kNever, c.latency_ms.has_value()) << c.pulse_g << " g " << c.pulse_ms << " ms";
    // sample k stands for the period that it ends: k + 1 samples have been seen
    if (c.latency_ms) {
      EXPECT_DOUBLE_EQ((index + 1) / c.samples_per_ms, *c.latency_ms);
    }
  }
}

}  // namespace
