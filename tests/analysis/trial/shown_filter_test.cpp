// SPDX-License-Identifier: GPL-3.0-or-later
//
// Channel frequency classes are for looking at: no number moves with them, and one that the rate does not allow is refused aloud.
#include <gtest/gtest.h>

#include "tests/analysis/trial/clean_trial.hpp"
#include "tests/analysis/trial/synthetic_ejection.hpp"

namespace coldstroke::analysis {
namespace {

CleanTrial rectangle() {
  CleanPulse p;
  p.acceleration = [](double) { return 300.0; };
  return clean_trial(p);
}

TEST(ShownFilter, MovesNoMetricAndNoInstantAndIsStated) {
  SyntheticTrial t = synthetic_ejection(varied_options(4), 4);
  const TrialResult before = analyse(t.traces, t.setup);
  t.traces.traces[0].frequency_class = 180;
  TrialResult after = analyse(t.traces, t.setup);
  ASSERT_EQ(after.filters, (std::vector<ShownFilter>{{t.traces.traces[0].name, 180, false}}));
  after.filters.clear();
  EXPECT_EQ(after, before);
  const auto shown = filtered_trace(t.traces.traces[0]);
  ASSERT_TRUE(shown);
  EXPECT_NE(shown->samples, t.traces.traces[0].samples);
  EXPECT_EQ(shown->samples.size(), t.traces.traces[0].samples.size());
}

TEST(ShownFilter, IsRefusedWhereTheRateDoesNotAllowIt) {
  CleanTrial t = rectangle();
  t.traces.traces[1].period_seconds = 1.0 / 2000.0;
  for (const int high : {600, 1000}) {
    t.traces.traces[1].frequency_class = high;
    const TrialResult r = analyse(t.traces, t.setup);
    ASSERT_EQ(r.filters.size(), 1U);
    EXPECT_TRUE(r.filters[0].refused);
    EXPECT_TRUE(has_finding(r, "filter_refused"));
    EXPECT_FALSE(filtered_trace(t.traces.traces[1]));
  }
  t.traces.traces[1].frequency_class = 180;
  EXPECT_FALSE(has_finding(analyse(t.traces, t.setup), "filter_refused"));
  EXPECT_TRUE(filtered_trace(t.traces.traces[1]));
}

TEST(ShownFilter, BridgesLostSamplesAndRefusesWhatIsNoNumberOrNoClass) {
  CleanTrial t = rectangle();
  Trace& force = t.traces.traces[0];
  force.frequency_class = 61;
  EXPECT_FALSE(filtered_trace(force));
  force.frequency_class = 60;
  force.samples[100] = NAN;
  EXPECT_FALSE(filtered_trace(force));
  force.missing = {{100, 101}};
  const auto shown = filtered_trace(force);
  ASSERT_TRUE(shown);
  EXPECT_NEAR(shown->samples[100], 0.0, 1.0e-6);
  EXPECT_EQ(shown->missing, force.missing);
}

TEST(SlowAccelerometer, IsNoWitnessOfAStrokeMuchShorterThanTenOfItsLags) {
  CleanTrial t = rectangle();  // a stroke of 50 ms
  t.setup.accelerometer_lag_seconds = 0.01;
  t.setup.accelerometer_lag_standard_uncertainty_seconds = 0.001;
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_TRUE(has_finding(r, "slow_accelerometer"));
  EXPECT_EQ(r.metric("peak_acceleration_g")->measured(), nullptr);
  EXPECT_EQ(r.metric("exit_speed_from_acceleration_mps")->measured(), nullptr);
  EXPECT_NE(r.metric("impulse_newton_seconds")->measured(), nullptr) << "the force still speaks";
  t.setup.accelerometer_lag_seconds = 0.2e-3;
  EXPECT_FALSE(has_finding(analyse(t.traces, t.setup), "slow_accelerometer"));
}

TEST(ClippedAcceleration, IsNoDisagreementOfTheClocks) {
  CleanPulse p;
  p.acceleration = [](double t) { return 600.0 * std::sin(3.14159 * t / 0.05); };
  CleanTrial t = clean_trial(p);
  Trace& acceleration = t.traces.traces[1];
  for (double& x : acceleration.samples) x = std::min(x, 160.0);
  const auto top = std::find(acceleration.samples.begin(), acceleration.samples.end(), 160.0) - acceleration.samples.begin();
  std::size_t end = static_cast<std::size_t>(top);
  while (acceleration.samples[end] == 160.0) ++end;
  acceleration.saturated = {{static_cast<std::size_t>(top), end}};
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_TRUE(has_finding(r, "saturated"));
  EXPECT_FALSE(has_finding(r, "clock_disagreement"));
  EXPECT_TRUE(r.metric("peak_acceleration_g")->measured()->at_least);
}

TEST(Recovery, IsTheRiseBeforeTheVentWhateverIsVentedLater) {
  CleanTrial t = rectangle();
  Trace& supply = t.traces.traces[2];
  for (std::size_t i = 0; i < supply.samples.size(); ++i) {
    const double at = 1.0e-4 * static_cast<double>(i);
    // down to 4 bar by 0.3 s, back up by 0.2 bar to 0.7 s, then vented
    supply.samples[i] = at < 0.2   ? 8.0e5
                        : at < 0.3 ? 8.0e5 - 4.0e6 * (at - 0.2)
                        : at < 0.7 ? 4.0e5 + 0.5e5 * (at - 0.3)
                                   : 4.2e5 - 1.2e6 * (at - 0.7);
  }
  const double rise = value_of(analyse(t.traces, t.setup), "recovery_pascals");
  // Means of 50 ms: the lowest lies across the corner, the highest across the vent's opening.
  EXPECT_GT(rise, 0.14e5);
  EXPECT_LT(rise, 0.20e5);
}

}  // namespace
}  // namespace coldstroke::analysis
