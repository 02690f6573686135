// SPDX-License-Identifier: GPL-3.0-or-later
//
// Do the stated 95 % intervals hold the truth as often as they say? Simulated ejections with every error drawn from its
// declared standard uncertainty, through a ringing load cell; want 91 to 99 %, and no bias to speak of.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <map>

#include "analysis/trial/analyse.hpp"
#include "tests/analysis/trial/synthetic_ejection.hpp"

namespace coldstroke::analysis {
namespace {

struct Tally {
  int count = 0, held = 0;
  double error = 0.0, squares = 0.0, relative = 0.0, stated = 0.0;
};

std::map<std::string, double> truths(const Truth& t) {
  return {{"first_motion_seconds", t.first_motion},
          {"stroke_time_seconds", t.separation - t.first_motion},
          {"impulse_newton_seconds", t.impulse},
          {"peak_force_newtons", t.peak_force},
          {"peak_acceleration_g", t.peak_g},
          {"mean_acceleration_g", t.mean_g},
          {"exit_speed_from_force_mps", t.exit_speed},
          {"exit_speed_from_acceleration_mps", t.exit_speed},
          {"exit_speed_from_stroke_mps", t.exit_speed},
          {"droop_pascals", t.droop},
          {"detector_latency_seconds", t.decision - t.first_motion}};
}

TEST(Coverage, NineteenOfTwentyIntervalsHoldTheTruth) {
  constexpr std::uint64_t kTrials = 400;
  std::map<std::string, Tally> tallies;
  int disagreements = 0;
  for (std::uint64_t seed = 1; seed <= kTrials; ++seed) {
    const SyntheticTrial trial = synthetic_ejection(varied_options(seed), seed);
    const TrialResult result = analyse(trial.traces, trial.setup);
    for (const auto& [name, truth] : truths(trial.truth)) {
      const Measured* m = result.metric(name)->measured();
      ASSERT_NE(m, nullptr) << "seed " << seed << ' ' << name << ": " << std::get<Absent>(result.metric(name)->value).reason;
      Tally& tally = tallies[name];
      const double error = m->value - truth;
      ++tally.count;
      tally.held += truth >= m->low_95 && truth <= m->high_95;
      tally.error += error / kTrials;
      tally.squares += error * error / kTrials;
      tally.relative += error / m->standard_uncertainty / kTrials;
      tally.stated += m->standard_uncertainty / kTrials;
    }
    for (const Finding& finding : result.findings)
      disagreements += finding.kind == "exit_speeds_disagree" || finding.kind == "clock_disagreement";
  }
  for (const auto& [name, t] : tallies) {
    const double share = static_cast<double>(t.held) / t.count;
    std::printf("%-34s bias %10.3g  spread %10.3g  stated %10.3g  held %5.1f %%\n", name.c_str(), t.error,
                std::sqrt(t.squares - t.error * t.error), t.stated, 100.0 * share);
    EXPECT_GE(share, 0.91) << name;
    EXPECT_LE(share, 0.99) << name;
    EXPECT_LT(std::abs(t.relative), 0.4) << name << ": bias in standard uncertainties";
  }
  EXPECT_LE(disagreements, static_cast<int>(kTrials / 50));
}

/// What 300 or fewer trials make of a rig without a force cell, whose accelerometer dates everything with a lag of its own.
std::map<std::string, Tally> accelerometer_alone(std::uint64_t trials, bool lag_stated, double noise_factor) {
  std::map<std::string, Tally> tallies;
  for (std::uint64_t seed = 1; seed <= trials; ++seed) {
    SyntheticOptions options = varied_options(seed);
    options.acceleration_noise *= noise_factor;
    SyntheticTrial trial = synthetic_ejection(options, seed);
    std::erase_if(trial.traces.traces, [](const Trace& t) { return t.role == Role::force; });
    if (lag_stated) {
      // 2 damping / natural frequency of the simulated part, 1000 Hz and 0.7.
      trial.setup.accelerometer_lag_seconds = 0.2228e-3;
      trial.setup.accelerometer_lag_standard_uncertainty_seconds = 0.02e-3;
    }
    const TrialResult result = analyse(trial.traces, trial.setup);
    for (const auto& [name, truth] : truths(trial.truth)) {
      const Measured* m = result.metric(name)->measured();
      if (m == nullptr) continue;
      Tally& tally = tallies[name];
      ++tally.count;
      tally.held += truth >= m->low_95 && truth <= m->high_95;
      tally.error += (m->value - truth) / static_cast<double>(trials);
      tally.stated += m->standard_uncertainty / static_cast<double>(trials);
    }
  }
  for (const auto& [name, t] : tallies) {
    std::printf("lag %s, noise times %g: %-34s bias %10.3g  stated %10.3g  held %5.1f %%\n", lag_stated ? "stated " : "unknown",
                noise_factor, name.c_str(), t.error, t.stated, 100.0 * t.held / t.count);
    EXPECT_EQ(t.count, static_cast<int>(trials)) << name;
  }
  EXPECT_EQ(tallies.size(), 8U) << "impulse, peak force and speed from force need a force";
  return tallies;
}

TEST(Coverage, AnAccelerometerAloneHoldsToo) {
  const std::map<std::string, Tally> tallies = accelerometer_alone(300, true, 1.0);
  // Where the rise crosses the noise is read between two samples: closer than half a sample either way, 0.144 ms.
  EXPECT_LT(tallies.at("detector_latency_seconds").stated, 0.144e-3);
  for (const auto& [name, t] : tallies) {
    EXPECT_GE(t.held, 0.91 * t.count) << name;
    // A known lag says over how many samples separation is seen, and that places it far better than to a sample period.
    EXPECT_LE(t.held, 0.99 * t.count) << name;
    EXPECT_LT(std::abs(t.error), 0.4 * t.stated) << name << ": bias";
  }
}

TEST(Coverage, AnAccelerometerOfUnknownLagHoldsToo) {
  // A part whose lag is not stated lies towards the slow end of what is assumed: its instants lean that way.
  for (const auto& [name, t] : accelerometer_alone(200, false, 1.0)) EXPECT_GE(t.held, 0.86 * t.count) << name;
}

/// The more noise, the later the rise is clear of it.
TEST(Coverage, ANoisyAccelerometerHoldsToo) {
  for (const auto& [name, t] : accelerometer_alone(200, true, 3.0)) EXPECT_GE(t.held, 0.88 * t.count) << name;
}

}  // namespace
}  // namespace coldstroke::analysis
