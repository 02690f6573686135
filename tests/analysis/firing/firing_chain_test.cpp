// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/firing/firing_chain.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

namespace coldstroke::analysis {
namespace {

constexpr double kPeriod = 1.0e-4;

FiringSetup setup() {
  FiringSetup s;
  s.all_fire_amperes = 1.0;
  s.hold_seconds = 0.020;
  s.margin = 1.5;
  s.bridge_threshold_amperes = 0.32;
  s.bridge_time_constant_seconds = 0.015;
  s.bridge_ohms = 1.6;
  s.hot_factor = 1.5;
  s.dummy_ohms = 2.0;
  s.supply_volts = 8.0;
  s.loop_ohms_high = 4.0;
  return s;
}

/// A pulse of `amperes` from 0.1 s for `seconds`, noise of 2 mA.
std::vector<double> pulse(double amperes, double seconds) {
  std::mt19937 random{7};
  std::normal_distribution<double> noise{0.0, 0.002};
  std::vector<double> out;
  for (int i = 0; i < 8000; ++i) {
    const double t = i * kPeriod;
    out.push_back((t >= 0.1 && t < 0.1 + seconds ? amperes : 0.0) + noise(random));
  }
  return out;
}

FiringReport judged(const std::vector<double>& amperes, const FiringSetup& s = setup(),
                    const FiringLimits& limits = {0.05, 0.3}) {
  return judge_firing({amperes, 0.0, kPeriod, 0.02}, s, limits);
}

TEST(FiringChain, HasSixOutcomes) {
  EXPECT_EQ(judged(pulse(0.0, 0.0)).outcome, FiringOutcome::no_current);
  EXPECT_EQ(judged(pulse(0.9, 0.5)).outcome, FiringOutcome::too_low);
  EXPECT_EQ(judged(pulse(2.3, 0.010)).outcome, FiringOutcome::too_short);
  EXPECT_EQ(judged(pulse(2.3, 0.5)).outcome, FiringOutcome::would_fire);
  EXPECT_EQ(judged(pulse(2.3, 0.5), setup(), {0.2, 0.3}).outcome, FiringOutcome::too_early);
  EXPECT_EQ(judged(pulse(2.3, 0.5), setup(), {0.0, 0.09}).outcome, FiringOutcome::too_late);
}

TEST(FiringChain, MeasuresThePulse) {
  const FiringReport r = judged(pulse(2.3, 0.5));
  EXPECT_NEAR(*r.amperes, 2.3, 0.001);
  EXPECT_NEAR(*r.start_seconds, 0.1, kPeriod);
  EXPECT_NEAR(*r.held_seconds, 0.5, 2.0 * kPeriod);
  EXPECT_NEAR(*r.action_ampere2_seconds, 2.3 * 2.3 * 0.5, 0.003);
  EXPECT_NEAR(*r.loop_ohms, 8.0 / 2.3, 0.005);
  // 8 V over (8/2.3 - 2 + 2.4) ohm
  EXPECT_NEAR(*r.hot_amperes, 8.0 / (8.0 / 2.3 - 2.0 + 2.4), 0.002);
  EXPECT_NEAR(*r.bridge_seconds, *bridge_fires_after_seconds(setup(), *r.hot_amperes / 1.5), 2.0 * kPeriod);
}

// The loop is closed, so continuity "shows"; the current says what continuity cannot.
TEST(FiringChain, ABurntSeriesResistorIsCaught) {
  const double rest = 0.15 + 0.35 + 2.0;
  EXPECT_EQ(judged(pulse(8.0 / (rest + 1.0), 0.5)).outcome, FiringOutcome::would_fire);
  for (const double burnt : {4.7, 47.0}) {
    const FiringReport r = judged(pulse(8.0 / (rest + burnt), 0.5));
    EXPECT_EQ(r.outcome, FiringOutcome::too_low) << burnt;
    EXPECT_TRUE(r.loop_too_high);
    EXPECT_NEAR(*r.loop_ohms / (rest + burnt), 1.0, 0.01);
    EXPECT_NE(r.reason.find("continuity"), std::string::npos) << r.reason;
  }
}

TEST(FiringChain, BridgesAMillisecondButNoMore) {
  auto current = pulse(2.3, 0.030);
  for (int i = 0; i < 9; ++i) current[1150 + static_cast<std::size_t>(i)] = 0.0;
  EXPECT_EQ(judged(current).outcome, FiringOutcome::would_fire);
  for (int i = 0; i < 13; ++i) current[1150 + static_cast<std::size_t>(i)] = 0.0;
  EXPECT_EQ(judged(current).outcome, FiringOutcome::too_short);
}

TEST(FiringChain, HeldLongEnoughButTheBridgeStaysCoolIsTooShort) {
  FiringSetup slow = setup();
  slow.bridge_time_constant_seconds = 2.0;
  EXPECT_EQ(judged(pulse(2.3, 0.030), slow).outcome, FiringOutcome::too_short);
}

TEST(FiringChain, WithoutASupplyVoltageTheWorstLoopIsTaken) {
  FiringSetup s = setup();
  s.supply_volts = s.loop_ohms_high = 0.0;
  EXPECT_NEAR(hot_bridge_amperes(s, 2.0), 2.0 * 2.0 / 2.4, 1e-12);
  s.dummy_ohms = 4.0;  // hotter than the bridge ever gets: nothing is added
  EXPECT_EQ(hot_bridge_amperes(s, 2.0), 2.0);
}

TEST(FiringChain, AnEmptyOrTinyRecordIsNoCurrent) {
  EXPECT_EQ(judged({}).outcome, FiringOutcome::no_current);
  EXPECT_EQ(judged({5.0}).outcome, FiringOutcome::no_current);
}

/// `first` and then what `second` has from `at` seconds on.
std::vector<double> joined(std::vector<double> first, const std::vector<double>& second, double at) {
  for (auto i = static_cast<std::size_t>(at / kPeriod); i < first.size(); ++i) first[i] = second[i];
  return first;
}

std::vector<double> later(double amperes, double seconds, double at) {
  std::vector<double> out(8000, 0.0);
  for (std::size_t i = 0; i < out.size(); ++i)
    if (static_cast<double>(i) * kPeriod >= at && static_cast<double>(i) * kPeriod < at + seconds) out[i] = amperes;
  return out;
}

/// The first one spends the igniter, however long a later one is.
TEST(FiringChain, OfTwoPulsesTheFirstThatWouldFireCounts) {
  const auto both = joined(pulse(2.3, 0.050), later(2.3, 0.3, 0.4), 0.3);
  EXPECT_EQ(judged(both, setup(), {0.2, 0.6}).outcome, FiringOutcome::too_early);
  EXPECT_EQ(judged(both, setup(), {0.05, 0.3}).outcome, FiringOutcome::would_fire) << "a late one after it does nothing";
  EXPECT_NEAR(*judged(both).start_seconds, 0.1, kPeriod);
  const auto weak_first = joined(pulse(0.9, 0.2), later(2.3, 0.05, 0.5), 0.4);
  EXPECT_EQ(judged(weak_first, setup(), {0.05, 0.6}).outcome, FiringOutcome::would_fire);
  EXPECT_NEAR(*judged(weak_first).start_seconds, 0.5, kPeriod);
}

TEST(FiringChain, ACurrentAlthoughNothingLeftTheTubeIsTooEarlyAndWithoutAWindowTooLate) {
  FiringLimits stuck;
  stuck.never_left = true;
  EXPECT_EQ(judged(pulse(2.3, 0.5), setup(), stuck).outcome, FiringOutcome::too_early);
  FiringLimits low{0.05, {}};
  low.no_window = true;
  EXPECT_EQ(judged(pulse(2.3, 0.5), setup(), low).outcome, FiringOutcome::too_late);
  EXPECT_EQ(judged(pulse(0.9, 0.5), setup(), stuck).outcome, FiringOutcome::too_low) << "it would not have fired anyway";
}

TEST(FiringChain, AContinuityCurrentIsNoPulse) {
  auto current = pulse(2.3, 0.5);
  for (double& amperes : current) amperes += 0.05;
  const FiringReport r = judged(current);
  EXPECT_EQ(r.outcome, FiringOutcome::would_fire) << r.reason;
  EXPECT_NEAR(*r.start_seconds, 0.1, 3.0 * kPeriod);
  EXPECT_EQ(judged(std::vector<double>(8000, 0.05)).outcome, FiringOutcome::too_low);
}

TEST(FiringChain, ACurrentOfTheOtherSignHeatsAsMuch) {
  auto current = pulse(2.3, 0.5);
  for (double& amperes : current) amperes = -amperes;
  const FiringReport r = judged(current);
  EXPECT_EQ(r.outcome, FiringOutcome::would_fire);
  EXPECT_TRUE(r.reversed);
  EXPECT_NEAR(*r.amperes, 2.3, 0.001);
  EXPECT_FALSE(judged(pulse(2.3, 0.5)).reversed);
}

}  // namespace
}  // namespace coldstroke::analysis
