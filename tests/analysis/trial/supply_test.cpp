// SPDX-License-Identifier: GPL-3.0-or-later
//
// What is made of the supply pressure, on closed-form trials.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/analysis/trial/clean_trial.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kGain = 0.0025, kZeroPascals = 500.0, kBeforePascals = 8.0e5, kReservoirM3 = 0.75e-3;

/// A square pulse at 8 bar, its transducer with a doubtful gain and zero and everything else as good as certain.
TrialResult result() {
  CleanPulse pulse;
  pulse.acceleration = [](double) { return 250.0; };
  CleanTrial trial = clean_trial(pulse);
  trial.setup.reservoir_volume_m3 = kReservoirM3;
  for (Trace& trace : trial.traces.traces)
    if (trace.role == Role::supply_pressure)
      trace.gain_standard_uncertainty = kGain, trace.zero_standard_uncertainty = kZeroPascals;
  return analyse(trial.traces, trial.setup);
}

TEST(Supply, ReleasePressureIsTheLevelUpToTheCommand) {
  const TrialResult r = result();
  const Measured& pressure = *r.metric("release_pressure_pascals")->measured();
  EXPECT_NEAR(pressure.value, kBeforePascals, 1.0);
  EXPECT_NEAR(pressure.standard_uncertainty, std::hypot(kGain * kBeforePascals, kZeroPascals), 20.0);
}

TEST(Supply, ReleasePressureNeedsNoMotionWhereTheCommandIsKnown) {
  CleanPulse pulse;
  pulse.acceleration = [](double) { return 0.0; };
  CleanTrial trial = clean_trial(pulse);
  std::erase_if(trial.traces.traces, [](const Trace& t) { return t.role != Role::supply_pressure; });
  EXPECT_NEAR(value_of(analyse(trial.traces, trial.setup), "release_pressure_pascals"), kBeforePascals, 1.0);
  trial.traces.release_commanded_seconds.reset();
  EXPECT_EQ(analyse(trial.traces, trial.setup).metric("release_pressure_pascals")->measured(), nullptr);
}

TEST(Supply, EfficiencyIsWorkOverTheChargeAboveTheAirsPressure) {
  const TrialResult r = result();
  const double energy = value_of(r, "energy_joules");
  EXPECT_NEAR(value_of(r, "efficiency_ratio"), energy * 0.4 / (kBeforePascals * kReservoirM3), 1.0e-6);
}

/// A gauge transducer reads the pressure above the air's, whatever the air's is: nothing of the weather is in the budget.
TEST(Supply, TheWeatherIsNoPartOfTheEfficiencysBudget) {
  const TrialResult r = result();
  const Measured &ratio = *r.metric("efficiency_ratio")->measured(), &energy = *r.metric("energy_joules")->measured();
  const double relative =
      std::hypot(energy.standard_uncertainty / energy.value, std::hypot(kGain, kZeroPascals / kBeforePascals));
  EXPECT_NEAR(ratio.standard_uncertainty / ratio.value, relative, 0.01 * relative);
}

}  // namespace
}  // namespace coldstroke::analysis
