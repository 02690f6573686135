// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/plot/live_envelope.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

namespace coldstroke::gui {
namespace {

std::vector<double> wave(std::size_t count) {
  std::vector<double> samples;
  for (std::size_t k = 0; k < count; ++k)
    samples.push_back(std::sin(0.01 * static_cast<double>(k)) + 0.001 * static_cast<double>(k % 7));
  return samples;
}

bool same(const LiveEnvelope& a, const LiveEnvelope& b) {
  return a.first_sample() == b.first_sample() && a.next_sample() == b.next_sample() &&
         std::equal(
             a.columns().begin(), a.columns().end(), b.columns().begin(), b.columns().end(),
             [](const Column& x, const Column& y) { return (x.empty() && y.empty()) || (x.low == y.low && x.high == y.high); });
}

TEST(LiveEnvelope, IsTheSameHoweverTheSamplesArrive) {
  const std::vector<double> samples = wave(30000);
  LiveEnvelope whole{100, 120};
  whole.take({1234, 0.0, samples, 0, false});
  std::mt19937 random{20310504};
  for (int run = 0; run < 20; ++run) {
    LiveEnvelope parts{100, 120};
    for (std::size_t at = 0; at < samples.size();) {
      const std::size_t size = std::min<std::size_t>(1 + random() % 400, samples.size() - at);
      parts.take(
          {1234 + at, 0.0, {samples.begin() + static_cast<long>(at), samples.begin() + static_cast<long>(at + size)}, 0, false});
      at += size;
    }
    ASSERT_TRUE(same(whole, parts)) << "run " << run;
  }
}

TEST(LiveEnvelope, KeepsColumnsOnMultiplesOfTheSampleCountWhileTheyScroll) {
  LiveEnvelope envelope{100, 10};
  for (std::uint64_t first = 50; first < 5000; first += 73) {
    envelope.take({first, 0.0, std::vector<double>(73, 1.0), 0, false});
    EXPECT_EQ(envelope.first_sample() % 100, 0U);
    EXPECT_LE(envelope.columns().size(), 10U);
  }
}

TEST(LiveEnvelope, NeverLosesAPeakThatIsStillInView) {
  for (std::size_t spike = 0; spike < 2000; spike += 13) {
    std::vector<double> samples(2000, 0.0);
    samples[spike] = 50.0;
    LiveEnvelope envelope{37, 60};
    for (std::size_t at = 0; at < samples.size(); at += 10)
      envelope.take({at, 0.0, {samples.begin() + static_cast<long>(at), samples.begin() + static_cast<long>(at + 10)}, 0, false});
    EXPECT_EQ(envelope.extent().high, 50.0) << "spike at " << spike;
  }
}

TEST(LiveEnvelope, BreaksWhereSamplesWereLost) {
  std::vector<double> samples(300, 1.0);
  std::fill(samples.begin() + 100, samples.begin() + 200, std::numeric_limits<double>::quiet_NaN());
  LiveEnvelope envelope{50, 20};
  envelope.take({0, 0.0, samples, 0, false});
  EXPECT_FALSE(envelope.columns()[1].empty());
  EXPECT_TRUE(envelope.columns()[2].empty());
  EXPECT_TRUE(envelope.columns()[3].empty());
  EXPECT_FALSE(envelope.columns()[4].empty());
}

TEST(LiveEnvelope, SkipsSamplesThatHadAlreadyFallenOutOfTheHistory) {
  LiveEnvelope envelope{10, 50};
  envelope.take({0, 0.0, std::vector<double>(100, 1.0), 0, false});
  envelope.take({200, 0.0, std::vector<double>(100, 2.0), 100, false});
  EXPECT_TRUE(envelope.columns()[15].empty());
  EXPECT_EQ(envelope.columns()[25].high, 2.0);
}

TEST(LiveEnvelope, BeginsAnewWhenTheBoardDidAndWhenTheJumpIsFarTooLong) {
  LiveEnvelope envelope{10, 50};
  envelope.take({5000, 0.0, std::vector<double>(100, 7.0), 0, false});
  envelope.take({0, 0.0, std::vector<double>(20, 1.0), 0, true});
  EXPECT_EQ(envelope.extent().high, 1.0);
  EXPECT_EQ(envelope.first_sample(), 0U);
  envelope.take({1'000'000'000'000ULL, 0.0, std::vector<double>(20, 3.0), 0, false});  // would be 10^11 empty columns
  EXPECT_EQ(envelope.extent().low, 3.0);
}

TEST(LiveEnvelope, FollowsARealHistory) {
  daq::History history{1000, 0.001};
  LiveEnvelope envelope{10, 102};
  EXPECT_FALSE(envelope.follow(history) && !envelope.columns().empty());
  history.append(0, 5.0, std::vector<double>(400, 2.0));
  EXPECT_TRUE(envelope.follow(history));
  EXPECT_FALSE(envelope.follow(history)) << "nothing new";
  history.append(400, 5.4, std::vector<double>(100, 4.0));
  EXPECT_TRUE(envelope.follow(history));
  EXPECT_EQ(envelope.next_sample(), 500U);
  EXPECT_NEAR(envelope.newest_seconds(), 5.499, 1e-9);
  EXPECT_EQ(envelope.extent().high, 4.0);
}

}  // namespace
}  // namespace coldstroke::gui
