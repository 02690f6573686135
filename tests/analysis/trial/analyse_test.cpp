// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/analyse.hpp"

#include <gtest/gtest.h>

#include <boost/math/constants/constants.hpp>
#include <cmath>
#include <random>

#include "tests/analysis/trial/clean_trial.hpp"
#include "tests/analysis/trial/synthetic_ejection.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kPi = boost::math::constants::pi<double>();

CleanPulse rectangle(double a = 200.0, double duration = 0.05) {
  CleanPulse p;
  p.acceleration = [a](double) { return a; };
  p.duration = duration;
  p.stroke_metres = 0.5 * a * duration * duration;
  return p;
}

TEST(Analyse, ARectangularPulseGivesItsClosedForms) {
  const CleanPulse p = rectangle();
  const CleanTrial t = clean_trial(p);
  const TrialResult r = analyse(t.traces, t.setup);
  // The edges lie somewhere between two samples: up to half a period each is open.
  EXPECT_NEAR(value_of(r, "first_motion_seconds"), kMotionAt, 0.6e-4);
  EXPECT_NEAR(value_of(r, "stroke_time_seconds"), 0.05, 1.0e-4);
  EXPECT_NEAR(value_of(r, "impulse_newton_seconds"), 15.0, 15.0 * 2.0e-3);
  EXPECT_NEAR(value_of(r, "exit_speed_from_force_mps"), 10.0, 2.0e-2);
  EXPECT_NEAR(value_of(r, "exit_speed_from_acceleration_mps"), 10.0, 2.0e-2);
  EXPECT_NEAR(value_of(r, "exit_speed_from_stroke_mps"), 10.0, 3.0e-2);
  EXPECT_NEAR(value_of(r, "peak_force_newtons"), 1.5 * (200.0 + kStandardGravity), 0.1);
  EXPECT_NEAR(value_of(r, "peak_acceleration_g"), 200.0 / kStandardGravity + 1.0, 0.01);
  EXPECT_NEAR(value_of(r, "mean_acceleration_g"), 200.0 / kStandardGravity + 1.0, 0.06);
  EXPECT_NEAR(value_of(r, "droop_pascals"), 4.0e6 * 0.051, 4.0e6 * 1.0e-4);
  EXPECT_NEAR(value_of(r, "detector_latency_seconds"), 0.020, 0.6e-4);
  EXPECT_EQ(r.outcome, Outcome::in_time);
  ASSERT_TRUE(r.marks.apex_seconds);
  EXPECT_NEAR(*r.marks.apex_seconds, kMotionAt + 0.05 + 10.0 / kStandardGravity, 0.01);
}

TEST(Analyse, AHalfSineThatFadesOutGivesItsClosedForms) {
  CleanPulse p;
  p.duration = 0.040;
  p.acceleration = [](double t) { return 50.0 * kStandardGravity * std::sin(kPi * t / 0.040); };
  const double v = 2.0 / kPi * 50.0 * kStandardGravity * 0.040;
  p.stroke_metres = 0.5 * v * 0.040;  // shape factor 2
  const CleanTrial t = clean_trial(p);
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_NEAR(value_of(r, "first_motion_seconds"), kMotionAt, 0.5e-4);
  EXPECT_NEAR(value_of(r, "impulse_newton_seconds"), 1.5 * v, 2.0e-3 * 1.5 * v);
  EXPECT_NEAR(value_of(r, "exit_speed_from_acceleration_mps"), v, 5.0e-3 * v);
  EXPECT_NEAR(value_of(r, "exit_speed_from_stroke_mps"), v, 2.0e-2 * v);
  EXPECT_NEAR(value_of(r, "peak_acceleration_g"), 51.0, 0.05);
}

TEST(Analyse, ATerminalPeakSawtoothPeaksAtItsEnd) {
  CleanPulse p;
  p.duration = 0.040;
  p.acceleration = [](double t) { return 40.0 * kStandardGravity * t / 0.040; };
  const double v = 0.5 * 40.0 * kStandardGravity * 0.040;
  p.stroke_metres = v * 0.040 / 3.0;  // shape factor 3
  const CleanTrial t = clean_trial(p);
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_NEAR(value_of(r, "impulse_newton_seconds"), 1.5 * v, 5.0e-3 * 1.5 * v);
  EXPECT_NEAR(value_of(r, "exit_speed_from_stroke_mps"), v, 1.0e-2 * v);
  EXPECT_NEAR(value_of(r, "peak_acceleration_g"), 41.0, 0.15);
  EXPECT_NEAR(value_of(r, "stroke_time_seconds"), 0.040, 3.0e-4);
}

TEST(Analyse, TareAndCellPositionDoNotChangeTheVehiclesNumbers) {
  CleanPulse p = rectangle();
  p.tilt_radians = 0.2;
  const CleanTrial plain = clean_trial(p);
  const TrialResult want = analyse(plain.traces, plain.setup);
  for (const ForceCell cell : {ForceCell::reaction, ForceCell::in_line})
    for (const ForceTare tare : {ForceTare::vehicle_seated, ForceTare::empty}) {
      p.cell = cell;
      p.tare = tare;
      const CleanTrial t = clean_trial(p);
      const TrialResult r = analyse(t.traces, t.setup);
      for (const char* name :
           {"impulse_newton_seconds", "peak_force_newtons", "exit_speed_from_force_mps", "exit_speed_from_stroke_mps"})
        EXPECT_NEAR(value_of(r, name), value_of(want, name), 1.0e-6 * value_of(want, name)) << name;
      EXPECT_FALSE(has_finding(r, "rest_reading"));
    }
}

TEST(Analyse, AWrongTareInTheSetupIsSaidAndHarmless) {
  CleanTrial t = clean_trial(rectangle());
  const double impulse = value_of(analyse(t.traces, t.setup), "impulse_newton_seconds");
  t.setup.force_tare = ForceTare::empty;
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_TRUE(has_finding(r, "rest_reading"));
  EXPECT_EQ(value_of(r, "impulse_newton_seconds"), impulse);
}

TEST(Analyse, WithoutForceTheAccelerationStillSpeaksAndTheOtherWayRound) {
  CleanTrial t = clean_trial(rectangle());
  TraceSet no_force = t.traces, no_acceleration = t.traces;
  no_force.traces.erase(no_force.traces.begin());
  no_acceleration.traces.erase(no_acceleration.traces.begin() + 1);
  t.setup.accelerometer_lag_seconds = 0.0;  // an ideal one
  const TrialResult a = analyse(no_force, t.setup), f = analyse(no_acceleration, t.setup);
  EXPECT_EQ(std::get<Absent>(a.metric("impulse_newton_seconds")->value).reason, "no force was recorded");
  EXPECT_NEAR(value_of(a, "exit_speed_from_acceleration_mps"), 10.0, 0.03);
  EXPECT_NEAR(value_of(a, "exit_speed_from_stroke_mps"), 10.0, 0.04);
  EXPECT_NEAR(value_of(a, "detector_latency_seconds"), 0.020, 1.0e-4);
  EXPECT_EQ(std::get<Absent>(f.metric("peak_acceleration_g")->value).reason, "no vehicle acceleration was recorded");
  EXPECT_NEAR(value_of(f, "impulse_newton_seconds"), 15.0, 0.03);
}

TEST(Analyse, LandingIsNoPeakAndNoSecondPulse) {
  CleanPulse p = rectangle();
  p.end_seconds = 2.6;
  CleanTrial t = clean_trial(p);
  Trace& acceleration = t.traces.traces[1];
  for (std::size_t i = 22900; i < 22950; ++i) acceleration.samples[i] = 3000.0;
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_NEAR(value_of(r, "peak_acceleration_g"), 200.0 / kStandardGravity + 1.0, 0.01);
  EXPECT_NEAR(value_of(r, "exit_speed_from_acceleration_mps"), 10.0, 0.03);
  EXPECT_FALSE(has_finding(r, "two_pulses"));
}

TEST(Analyse, ASecondPulseIsSaid) {
  CleanTrial t = clean_trial(rectangle());
  for (std::size_t i = 4000; i < 4400; ++i) t.traces.traces[0].samples[i] = 250.0;
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_TRUE(has_finding(r, "two_pulses"));
  EXPECT_NEAR(value_of(r, "impulse_newton_seconds"), 15.0, 0.03);
}

TEST(Analyse, NoMotionLeavesEverythingButTheChargeAbsentAndVoid) {
  CleanTrial t = clean_trial(rectangle());
  std::mt19937_64 engine{1};
  std::normal_distribution<double> noise;
  for (double& x : t.traces.traces[0].samples) x = noise(engine);
  for (double& x : t.traces.traces[1].samples) x = kStandardGravity + 0.3 * noise(engine);
  t.traces.detector.decisions_seconds.clear();
  t.setup.criteria = {{Criterion::Kind::metric, "impulse", "impulse_newton_seconds", 10.0, 20.0},
                      {Criterion::Kind::detector_in_time, "detector", "", {}, {}}};
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_TRUE(has_finding(r, "no_motion"));
  for (const Metric& m : r.metrics) EXPECT_EQ(m.measured() != nullptr, m.name == "release_pressure_pascals") << m.name;
  EXPECT_EQ(r.outcome, Outcome::unknown);
  EXPECT_EQ(r.verdict, Verdict::void_);
  t.traces.detector.decisions_seconds = {0.3};
  const TrialResult decided = analyse(t.traces, t.setup);
  EXPECT_EQ(decided.outcome, Outcome::early);
  EXPECT_EQ(decided.verdict, Verdict::fail);
}

TEST(Analyse, AVehicleStoppedInTheTubeNeverLeft) {
  CleanPulse p;
  p.duration = 0.12;
  // Pushed, then braked to rest inside the tube.
  p.acceleration = [](double t) { return t < 0.03 ? 60.0 * std::sin(kPi * t / 0.03) : -60.0 * 2.0 / kPi * 0.03 / 0.09; };
  CleanTrial t = clean_trial(p);
  for (double& x : t.traces.traces[0].samples)  // it stays seated: its weight stays on
    if (std::abs(x + 1.5 * kStandardGravity) < 1.0e-9) x = 0.0;
  for (double& x : t.traces.traces[1].samples)
    if (x == 0.0) x = kStandardGravity;
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_TRUE(has_finding(r, "never_left"));
  EXPECT_EQ(r.metric("impulse_newton_seconds")->measured(), nullptr);
}

TEST(Analyse, ARecordThatEndsInTheStrokeSaysSo) {
  CleanPulse p = rectangle();
  p.end_seconds = 0.23;
  const CleanTrial t = clean_trial(p);
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_TRUE(has_finding(r, "record_too_short"));
  EXPECT_EQ(r.metric("impulse_newton_seconds")->measured(), nullptr);
}

TEST(Analyse, ARecordThatBeginsInTheStrokeSaysSo) {
  CleanTrial t = clean_trial(rectangle());
  for (Trace& trace : t.traces.traces) trace.samples.erase(trace.samples.begin(), trace.samples.begin() + 2300);
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_EQ(r.metric("impulse_newton_seconds")->measured(), nullptr);
  EXPECT_TRUE(has_finding(r, "no_baseline") || has_finding(r, "no_motion"));
}

TEST(Analyse, AClippedPeakIsAtLeast) {
  CleanTrial t = clean_trial(rectangle());
  Trace& force = t.traces.traces[0];
  force.saturated = {{2010, 2400}};
  t.setup.criteria = {{Criterion::Kind::metric, "low", "peak_force_newtons", {}, 100.0},
                      {Criterion::Kind::metric, "high", "peak_force_newtons", {}, 1000.0},
                      {Criterion::Kind::nothing_saturated, "clipping", "", {}, {}}};
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_TRUE(has_finding(r, "saturated"));
  EXPECT_TRUE(r.metric("peak_force_newtons")->measured()->at_least);
  EXPECT_TRUE(r.metric("impulse_newton_seconds")->measured()->at_least);
  EXPECT_EQ(r.metric("exit_speed_from_stroke_mps")->measured(), nullptr);
  EXPECT_EQ(r.criteria[0].verdict, Verdict::fail);   // conclusive
  EXPECT_EQ(r.criteria[1].verdict, Verdict::void_);  // open
  EXPECT_EQ(r.criteria[2].verdict, Verdict::void_);
  EXPECT_EQ(r.verdict, Verdict::fail);
}

TEST(Analyse, LostSamplesAreBridgedAndWidenTheUncertainty) {
  SyntheticOptions o = varied_options(4);
  SyntheticTrial t = synthetic_ejection(o, 4);
  Trace& force = t.traces.traces[0];
  const double before = analyse(t.traces, t.setup).metric("impulse_newton_seconds")->measured()->standard_uncertainty;
  const auto at = static_cast<std::size_t>((t.truth.first_motion + 0.020 - force.start_seconds) / force.period_seconds);
  for (std::size_t i = at; i < at + 40; ++i) force.samples[i] = force.samples[at - 1];  // held, as the recorder does
  force.missing = {{at, at + 40}};
  t.setup.criteria = {{Criterion::Kind::no_lost_samples, "whole", "", {}, {}}};
  const TrialResult r = analyse(t.traces, t.setup);
  const Measured& impulse = *r.metric("impulse_newton_seconds")->measured();
  EXPECT_GT(impulse.standard_uncertainty, 1.02 * before);
  EXPECT_NEAR(impulse.value, t.truth.impulse, 3.0 * impulse.standard_uncertainty);
  EXPECT_TRUE(has_finding(r, "lost_samples"));
  EXPECT_EQ(r.verdict, Verdict::void_);
  // At the instants themselves there is nothing to bridge.
  const auto start = static_cast<std::size_t>((t.truth.first_motion - force.start_seconds) / force.period_seconds);
  force.missing = {{start - 5, start + 15}};
  EXPECT_EQ(analyse(t.traces, t.setup).metric("impulse_newton_seconds")->measured(), nullptr);
}

TEST(Analyse, ExitSpeedsThatDisagreeAreSaid) {
  CleanTrial t = clean_trial(rectangle());
  EXPECT_FALSE(has_finding(analyse(t.traces, t.setup), "exit_speeds_disagree"));
  t.setup.vehicle_mass_kg = 1.0;  // wrong
  EXPECT_TRUE(has_finding(analyse(t.traces, t.setup), "exit_speeds_disagree"));
}

TEST(Analyse, AShiftedFlightClockIsSaid) {
  CleanTrial t = clean_trial(rectangle());
  t.traces.traces[1].alignment_standard_uncertainty_seconds = 0.2e-3;
  EXPECT_FALSE(has_finding(analyse(t.traces, t.setup), "clock_disagreement"));
  t.traces.traces[1].start_seconds += 2.0e-3;
  EXPECT_TRUE(has_finding(analyse(t.traces, t.setup), "clock_disagreement"));
}

TEST(Analyse, TheSameTrialGivesTheSameBits) {
  const SyntheticTrial t = synthetic_ejection(varied_options(11), 11);
  EXPECT_EQ(analyse(t.traces, t.setup), analyse(t.traces, t.setup));
}

TEST(Analyse, MovingTheRecordInTimeMovesOnlyFirstMotion) {
  SyntheticTrial t = synthetic_ejection(varied_options(12), 12);
  const TrialResult a = analyse(t.traces, t.setup);
  for (Trace& trace : t.traces.traces) trace.start_seconds += 64.0;
  *t.traces.release_commanded_seconds += 64.0;
  t.traces.detector.decisions_seconds[0] += 64.0;
  t.traces.detector.record_end_seconds += 64.0;
  const TrialResult b = analyse(t.traces, t.setup);
  for (const Metric& m : a.metrics) {
    const double shift = m.name == "first_motion_seconds" ? 64.0 : 0.0;
    if (m.measured() == nullptr) {  // the simulated record holds no landing, and its setup no reservoir
      EXPECT_EQ(b.metric(m.name)->measured(), nullptr) << m.name;
      continue;
    }
    EXPECT_NEAR(value_of(b, m.name), m.measured()->value + shift, 1.0e-6 * std::abs(m.measured()->value) + 1.0e-9) << m.name;
  }
}

// Anything at all may come in; nothing may throw, and what is stated must be finite.
void expect_sane(const TraceSet& traces, const TrialSetup& setup) {
  TrialResult r;
  ASSERT_NO_THROW(r = analyse(traces, setup));
  ASSERT_EQ(r.metrics.size(), std::size(kMetricNames));
  for (const Metric& m : r.metrics) {
    const Measured* x = m.measured();
    if (x == nullptr) {
      EXPECT_FALSE(std::get<Absent>(m.value).reason.empty()) << m.name;
      continue;
    }
    EXPECT_TRUE(std::isfinite(x->value) && std::isfinite(x->standard_uncertainty) && std::isfinite(x->low_95) &&
                std::isfinite(x->high_95))
        << m.name;
  }
}

TEST(AnalyseBadInput, NothingThrows) {
  const CleanTrial good = clean_trial(rectangle());
  expect_sane({}, {});
  expect_sane({}, good.setup);
  expect_sane(good.traces, {});
  const auto with = [&](const std::function<void(Trace&)>& change) {
    TraceSet traces = good.traces;
    for (Trace& trace : traces.traces) change(trace);
    expect_sane(traces, good.setup);
    return analyse(traces, good.setup);
  };
  with([](Trace& t) { t.samples.clear(); });
  with([](Trace& t) { t.samples.resize(1); });
  with([](Trace& t) { t.samples.resize(7); });
  with([](Trace& t) { std::fill(t.samples.begin(), t.samples.end(), 0.1); });
  with([](Trace& t) { std::fill(t.samples.begin(), t.samples.end(), 1.0e308); });
  with([](Trace& t) { t.saturated = {{0, t.samples.size()}}; });
  with([](Trace& t) { t.missing = {{0, t.samples.size()}}; });
  with([](Trace& t) { t.missing = {{5, 2}, {90000, 90010}}; });
  with([](Trace& t) { std::reverse(t.samples.begin(), t.samples.end()); });
  with([](Trace& t) {
    for (double& x : t.samples) x = -x;
  });
  with([](Trace& t) { t.period_seconds = 0.0; });
  with([](Trace& t) { t.period_seconds = -1.0; });
  with([](Trace& t) { t.period_seconds = 1.0e-300; });
  with([](Trace& t) { t.period_seconds = 1.0e300; });
  with([](Trace& t) { t.start_seconds = NAN; });
  with([](Trace& t) { t.gain_standard_uncertainty = NAN; });
  const TrialResult nan = with([](Trace& t) { t.samples[500] = NAN; });
  EXPECT_TRUE(has_finding(nan, "not_a_number"));
  EXPECT_EQ(nan.metric("impulse_newton_seconds")->measured(), nullptr);
}

TEST(AnalyseBadInput, NonsenseInTheSetupThrowsNothing) {
  const CleanTrial good = clean_trial(rectangle());
  for (const double bad : {0.0, -1.0, static_cast<double>(NAN), static_cast<double>(INFINITY)}) {
    TrialSetup s = good.setup;
    s.vehicle_mass_kg = bad;
    expect_sane(good.traces, s);
    EXPECT_EQ(analyse(good.traces, s).metric("impulse_newton_seconds")->measured(), nullptr);
    s = good.setup;
    s.stroke_metres = bad;
    expect_sane(good.traces, s);
    s = good.setup;
    s.tilt_radians = bad;
    s.force_cell_natural_frequency_hz = bad;
    s.decision_deadline_seconds = bad;
    expect_sane(good.traces, s);
    TraceSet t = good.traces;
    t.release_commanded_seconds = bad;
    t.detector.decisions_seconds = {bad};
    expect_sane(t, good.setup);
  }
}

TEST(AnalyseBadInput, RandomDamageThrowsNothing) {
  const SyntheticTrial good = synthetic_ejection(varied_options(3), 3);
  std::mt19937_64 engine{99};
  for (int round = 0; round < 40; ++round) {
    TraceSet traces = good.traces;
    for (Trace& trace : traces.traces) {
      const std::size_t n = trace.samples.size();
      for (int hit = 0; hit < 6; ++hit) {
        const std::size_t at = engine() % n, length = engine() % 400;
        const double value = std::ldexp(static_cast<double>(engine() % 2000) - 1000.0, static_cast<int>(engine() % 12));
        for (std::size_t i = at; i < std::min(n, at + length); ++i) trace.samples[i] = value;
        if (hit == 0) trace.missing = {{at, std::min(n, at + length)}};
      }
      trace.samples.resize(1 + engine() % n);
    }
    expect_sane(traces, good.setup);
  }
}

}  // namespace
}  // namespace coldstroke::analysis
