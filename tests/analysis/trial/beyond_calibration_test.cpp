// SPDX-License-Identifier: GPL-3.0-or-later
//
// A trial that leaves the calibrated span says so on every metric that rests on it, and on no other.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/analysis/trial/clean_trial.hpp"

namespace coldstroke::analysis {
namespace {

using testing::HasSubstr;

/// 200 m/s^2 all along the stroke: the force cell reads 320 N, the supply falls from 8 bar.
CleanTrial trial_with(Role role, std::optional<CalibratedSpan> span) {
  CleanPulse pulse;
  pulse.acceleration = [](double) { return 200.0; };
  CleanTrial out = clean_trial(pulse);
  std::ranges::find(out.traces.traces, role, &Trace::role)->calibrated = span;
  return out;
}

bool marked(const TrialResult& result, const char* name) {
  const Metric* metric = result.metric(name);
  EXPECT_NE(metric, nullptr) << name;
  EXPECT_NE(metric->measured(), nullptr) << name;
  return metric->measured() != nullptr && metric->measured()->beyond_calibration;
}

std::ptrdiff_t findings(const TrialResult& result) {
  return std::ranges::count(result.findings, "beyond_calibration", &Finding::kind);
}

TEST(BeyondCalibration, MarksWhatRestsOnTheForceAndNothingElse) {
  const CleanTrial trial = trial_with(Role::force, CalibratedSpan{-50.0, 300.0});
  const TrialResult result = analyse(trial.traces, trial.setup);
  for (const char* name : {"impulse_newton_seconds", "peak_force_newtons", "mean_force_newtons", "exit_speed_from_force_mps",
                           "exit_speed_from_stroke_mps", "energy_joules"})
    EXPECT_TRUE(marked(result, name)) << name;
  for (const char* name : {"peak_acceleration_g", "exit_speed_from_acceleration_mps", "droop_pascals", "first_motion_seconds",
                           "stroke_time_seconds", "detector_latency_seconds", "release_pressure_pascals"})
    EXPECT_FALSE(marked(result, name)) << name;
  ASSERT_EQ(findings(result), 1);
  const auto said = std::ranges::find(result.findings, "beyond_calibration", &Finding::kind);
  EXPECT_EQ(said->channel, "force");
  EXPECT_THAT(said->message, HasSubstr("covers -50 to 300"));
}

TEST(BeyondCalibration, InsideTheSpanOrWithoutOneNothingIsMarked) {
  for (const auto span : {std::optional<CalibratedSpan>{{-50.0, 330.0}}, std::optional<CalibratedSpan>{}}) {
    const CleanTrial trial = trial_with(Role::force, span);
    const TrialResult result = analyse(trial.traces, trial.setup);
    EXPECT_FALSE(marked(result, "peak_force_newtons"));
    EXPECT_EQ(findings(result), 0);
  }
}

TEST(BeyondCalibration, AHundredthOfTheSpanIsNoise) {
  const double reads = 320.0;
  const auto peak_marked = [&](double covered) {
    const CleanTrial trial = trial_with(Role::force, CalibratedSpan{0.0 - covered, covered});
    return marked(analyse(trial.traces, trial.setup), "peak_force_newtons");
  };
  EXPECT_FALSE(peak_marked(reads / 1.019));
  EXPECT_TRUE(peak_marked(reads / 1.021));
}

TEST(BeyondCalibration, AChargeAboveTheGaugesSpanIsMarkedThoughTheStrokeIsNot) {
  const CleanTrial trial = trial_with(Role::supply_pressure, CalibratedSpan{0.0, 7.85e5});
  const TrialResult result = analyse(trial.traces, trial.setup);
  EXPECT_TRUE(marked(result, "droop_pascals"));
  EXPECT_TRUE(marked(result, "release_pressure_pascals"));
  EXPECT_FALSE(marked(result, "peak_force_newtons"));
}

TEST(BeyondCalibration, ACriterionOnAMarkedMetricSaysSoInItsReason) {
  CleanTrial trial = trial_with(Role::force, CalibratedSpan{-50.0, 300.0});
  trial.setup.criteria = {{Criterion::Kind::metric, "force", "peak_force_newtons", {}, 1000.0}};
  const TrialResult result = analyse(trial.traces, trial.setup);
  ASSERT_EQ(result.criteria.size(), 1U);
  EXPECT_EQ(result.criteria[0].verdict, Verdict::pass);
  EXPECT_THAT(result.criteria[0].reason, HasSubstr("Extrapolated"));
}

}  // namespace
}  // namespace coldstroke::analysis
