// SPDX-License-Identifier: GPL-3.0-or-later
//
// What is made of the pressures' edges, on closed forms. Durations between 10 and 90 % of the analytic edges: a ramp of length T
// 0.8 T; a raised cosine 0.590334 T (its levels lie at acos(0.8) / pi and 1 - acos(0.8) / pi of T).
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "tests/analysis/trial/clean_trial.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kRelease = 0.19, kLag = 0.1e-3;  // the lag that is taken off an instant
constexpr double kFrom = 0.19713, kRampSeconds = 3.0e-3, kPeakPascals = 7.0e5;

double ramp(double t, double from, double length) { return std::clamp((t - from) / length, 0.0, 1.0); }

Trace& of_role(TraceSet& traces, Role role) { return *std::ranges::find(traces.traces, role, &Trace::role); }

/// The clean trial with a chamber that rises as told and then falls off with the stroke.
CleanTrial trial_with_chamber(const std::function<double(double)>& rise) {
  CleanPulse pulse;
  pulse.acceleration = [](double) { return 250.0; };
  CleanTrial out = clean_trial(pulse);
  out.traces.traces.push_back(
      clean_trace("chamber", Quantity::gauge_pressure, Role::chamber_pressure, 1.0e-4, pulse.end_seconds,
                  [&](double t) { return kPeakPascals * rise(t) * std::min(1.0, std::exp(-(t - kFrom - kRampSeconds) / 0.1)); }));
  return out;
}

CleanTrial ramp_trial() {
  return trial_with_chamber([](double t) { return ramp(t, kFrom, kRampSeconds); });
}

/// The interval holds the truth and is narrow. The mean lag's second order is taken off, up to 0.02 ms here, and this transducer
/// has no lag.
void expect_rise(const TrialResult& result, double exact_seconds) {
  const Measured* measured = result.metric("chamber_rise_seconds")->measured();
  ASSERT_NE(measured, nullptr);
  EXPECT_LE(measured->low_95, exact_seconds);
  EXPECT_GE(measured->high_95, exact_seconds);
  EXPECT_NEAR(measured->value, exact_seconds, 0.02e-3);
}

const std::string& reason(const TrialResult& result, std::string_view name) {
  return std::get<Absent>(result.metric(name)->value).reason;
}

TEST(PressureEdges, ARampOfTheChamberLastsEightTenthsOfIt) {
  const CleanTrial t = ramp_trial();
  const TrialResult r = analyse(t.traces, t.setup);
  expect_rise(r, 0.8 * kRampSeconds);
  EXPECT_NEAR(value_of(r, "valve_delay_seconds"), kFrom + 0.5 * kRampSeconds - kRelease - kLag, 0.002e-3);
}

TEST(PressureEdges, ARaisedCosineLastsAsInClosedForm) {
  const CleanTrial t =
      trial_with_chamber([](double at) { return 0.5 - 0.5 * std::cos(std::numbers::pi * ramp(at, kFrom, kRampSeconds)); });
  const TrialResult r = analyse(t.traces, t.setup);
  expect_rise(r, (1.0 - 2.0 * std::acos(0.8) / std::numbers::pi) * kRampSeconds);
}

TEST(PressureEdges, TheSupplysFallIsReadBetweenItsTwoStates) {
  CleanTrial t = ramp_trial();
  // 8 bar, down to 4 bar over 45 ms, and up again slowly, as the wall warms the gas.
  Trace& supply = of_role(t.traces, Role::supply_pressure);
  for (std::size_t i = 0; i < supply.samples.size(); ++i) {
    const double at = static_cast<double>(i) * supply.period_seconds;
    supply.samples[i] = 8.0e5 - 4.0e5 * ramp(at, 0.205, 0.045) + 1.0e6 * std::max(0.0, at - 0.25) * 0.2;
  }
  const TrialResult r = analyse(t.traces, t.setup);
  // Each state's bin is 4 bar / 2000 wide, 0.02 ms of this fall.
  EXPECT_NEAR(value_of(r, "supply_fall_seconds"), 0.8 * 0.045, 0.1e-3);
  EXPECT_GT(r.metric("supply_fall_seconds")->measured()->standard_uncertainty, 0.0);
}

TEST(PressureEdges, ZeroAndGainOfTheTransducerChangeNothing) {
  const CleanTrial t = ramp_trial();
  CleanTrial off = t;
  for (double& p : of_role(off.traces, Role::chamber_pressure).samples) p = 1.04 * p + 9.0e3;
  const TrialResult a = analyse(t.traces, t.setup), b = analyse(off.traces, off.setup);
  for (const char* name : {"chamber_rise_seconds", "valve_delay_seconds"})
    EXPECT_NEAR(value_of(a, name), value_of(b, name), 1.0e-9) << name;
}

/// Every line of the budget answers: with noise the doubt is wider, and what the noise does to the value lies within it.
TEST(PressureEdges, NoiseWidensTheInterval) {
  CleanTrial quiet = ramp_trial(), noisy = quiet;
  std::mt19937_64 engine{7};
  std::normal_distribution<double> noise{0.0, 2.0e3};
  for (double& p : of_role(noisy.traces, Role::chamber_pressure).samples) p += noise(engine);
  const TrialResult a = analyse(quiet.traces, quiet.setup), b = analyse(noisy.traces, noisy.setup);
  for (const char* name : {"chamber_rise_seconds", "valve_delay_seconds"}) {
    const Measured &q = *a.metric(name)->measured(), &n = *b.metric(name)->measured();
    EXPECT_GT(n.standard_uncertainty, q.standard_uncertainty) << name;
    EXPECT_NEAR(n.value, q.value, 4.0 * n.standard_uncertainty) << name;
  }
}

TEST(PressureEdges, AVehicleThatSticksStillShowsWhatItsValvesDid) {
  CleanTrial t = ramp_trial();
  for (const Role role : {Role::force, Role::vehicle_acceleration}) {
    Trace& still = of_role(t.traces, role);
    std::ranges::fill(still.samples, still.samples.front());
  }
  const TrialResult r = analyse(t.traces, t.setup);
  ASSERT_EQ(r.metric("stroke_time_seconds")->measured(), nullptr);
  expect_rise(r, 0.8 * kRampSeconds);
  EXPECT_NEAR(value_of(r, "valve_delay_seconds"), kFrom + 0.5 * kRampSeconds - kRelease - kLag, 0.002e-3);
  EXPECT_EQ(r.metric("supply_fall_seconds")->measured(), nullptr);
}

TEST(PressureEdges, WhatCannotBeReadIsAbsentWithItsReason) {
  CleanTrial t = ramp_trial();
  t.traces.release_commanded_seconds.reset();
  TrialResult r = analyse(t.traces, t.setup);
  EXPECT_EQ(reason(r, "valve_delay_seconds"), "the release command is not in the record");
  expect_rise(r, 0.8 * kRampSeconds);

  t = ramp_trial();
  of_role(t.traces, Role::chamber_pressure).missing = {{1985, 1987}};
  EXPECT_EQ(reason(analyse(t.traces, t.setup), "chamber_rise_seconds"), "samples of the chamber pressure were lost on the edge");

  t = ramp_trial();
  of_role(t.traces, Role::chamber_pressure).saturated = {{2000, 2010}};
  EXPECT_EQ(reason(analyse(t.traces, t.setup), "chamber_rise_seconds"),
            "the chamber pressure clipped, so its states are not known");

  t = ramp_trial();
  std::ranges::fill(of_role(t.traces, Role::chamber_pressure).samples, 300.0);
  EXPECT_EQ(reason(analyse(t.traces, t.setup), "chamber_rise_seconds"), "the chamber pressure hardly changed after the release");

  t = ramp_trial();
  std::ranges::fill(of_role(t.traces, Role::supply_pressure).samples, 8.0e5);
  EXPECT_EQ(reason(analyse(t.traces, t.setup), "supply_fall_seconds"), "the supply pressure has no two states");

  t = ramp_trial();
  std::erase_if(t.traces.traces, [](const Trace& x) { return x.role == Role::chamber_pressure; });
  EXPECT_EQ(reason(analyse(t.traces, t.setup), "valve_delay_seconds"), "no chamber pressure was recorded");
}

}  // namespace
}  // namespace coldstroke::analysis
