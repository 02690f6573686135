// SPDX-License-Identifier: GPL-3.0-or-later
//
// Ejections with a known truth: the stroke model, a load cell with its own dynamics, transducers with gain, zero and noise.
#pragma once

#include <cstdint>

#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/trial/trace.hpp"
#include "analysis/trial/trial_setup.hpp"

namespace coldstroke::analysis {

/// What is varied from trial to trial. Standard uncertainties are those from which the errors are drawn AND those declared.
struct SyntheticOptions {
  StrokeParameters rig;
  double charge_gauge_pascals = 8.0e5;
  double cell_natural_frequency_hz = 2000.0, cell_damping = 0.06;
  double cell_frequency_error = 0.03;  ///< relative standard deviation of the true natural frequency about the declared one
  double force_gain_u = 0.005, force_zero_u = 2.0, force_noise = 0.8, force_range = 3000.0;
  double pressure_gain_u = 0.004, pressure_zero_u = 1000.0, pressure_noise = 400.0;
  double acceleration_gain_u = 0.008, acceleration_zero_u = 1.0, acceleration_noise = 0.8;
  double acceleration_range = 981.0, acceleration_period = 0.5e-3;
  double acceleration_frequency_hz = 1000.0, acceleration_damping = 0.7;  ///< what the part and its filter let through
  double pressure_pole_hz = 2000.0;
  double alignment_u = 0.2e-3;
  double vehicle_mass_u = 0.002, piston_mass_u = 0.001, stroke_u = 0.0005;
  double stop_seconds = 1.5e-3;  ///< the piston's stop: half-sine of this length
  double decision_after_seconds = 0.018;
  bool tare_empty = false, in_line = false;
};

struct Truth {
  double first_motion = 0.0, separation = 0.0, release = 0.0, decision = 0.0;
  double impulse = 0.0, peak_force = 0.0, peak_g = 0.0, mean_g = 0.0, exit_speed = 0.0, droop = 0.0;
};

struct SyntheticTrial {
  TraceSet traces;
  TrialSetup setup;
  Truth truth;
};

/// The same seed gives the same trial.
[[nodiscard]] SyntheticTrial synthetic_ejection(const SyntheticOptions& options, std::uint64_t seed);
/// Options varied over charge, mass, tilt, valves and cell, by seed.
[[nodiscard]] SyntheticOptions varied_options(std::uint64_t seed);

}  // namespace coldstroke::analysis
