// SPDX-License-Identifier: GPL-3.0-or-later
//
// The rise time of a force whose cell rings.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tests/analysis/trial/clean_trial.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kRampSeconds = 4.0e-3, kCellHz = 2000.0;

/// A ramp to a plateau, read through a cell whose ring of this amplitude, in parts of the plateau, goes on through the rise.
Measured rise_of(double ring, double phase) {
  CleanPulse pulse;
  pulse.acceleration = [=](double t) {
    const double shape = std::min(1.0, t / kRampSeconds), grown = std::min(1.0, t / 0.2e-3);
    return 200.0 * (shape + ring * grown * std::exp(-t / 4.0e-3) * std::sin(2.0 * std::numbers::pi * kCellHz * t + phase));
  };
  CleanTrial trial = clean_trial(pulse);
  trial.setup.force_cell_natural_frequency_hz = kCellHz;
  return *analyse(trial.traces, trial.setup).metric("rise_time_seconds")->measured();
}

TEST(RiseTime, ACellsRingIsInItsBudget) {
  constexpr int kPhases = 40;
  int held = 0;
  double ringing = 0.0;
  for (int k = 0; k < kPhases; ++k) {
    const Measured m = rise_of(0.02, 2.0 * std::numbers::pi * k / kPhases);
    held += m.low_95 <= 0.8 * kRampSeconds && 0.8 * kRampSeconds <= m.high_95;
    ringing += m.standard_uncertainty / kPhases;
  }
  EXPECT_GE(held, kPhases * 9 / 10);
  EXPECT_GT(ringing, 3.0 * rise_of(0.0, 0.0).standard_uncertainty) << "what does not ring is not charged for it";
}

}  // namespace
}  // namespace coldstroke::analysis
