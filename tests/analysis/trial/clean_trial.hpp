// SPDX-License-Identifier: GPL-3.0-or-later
//
// Noise-free trials of closed-form pulses, for exact expectations.
#pragma once

#include <cmath>
#include <functional>

#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/trial/analyse.hpp"

namespace coldstroke::analysis {

inline constexpr double kMotionAt = 0.20007;  ///< s, between samples

struct CleanPulse {
  std::function<double(double)> acceleration;  ///< net, m/s^2, of the time since first motion, within the stroke
  double duration = 0.05;
  double vehicle_mass_kg = 1.5, piston_mass_kg = 0.1, front_mass_kg = 0.05, tilt_radians = 0.0, stroke_metres = 0.3;
  double force_period = 1.0e-4, acceleration_period = 1.0e-4;
  ForceCell cell = ForceCell::reaction;
  ForceTare tare = ForceTare::vehicle_seated;
  double end_seconds = 1.0;
};

inline Trace clean_trace(const char* name, Quantity quantity, Role role, double period, double end,
                         const std::function<double(double)>& value) {
  Trace out;
  out.name = name;
  out.quantity = quantity;
  out.role = role;
  out.period_seconds = period;
  for (int i = 0; i * period < end; ++i) out.samples.push_back(value(i * period));
  return out;
}

struct CleanTrial {
  TraceSet traces;
  TrialSetup setup;
};

inline CleanTrial clean_trial(const CleanPulse& p) {
  CleanTrial out;
  const double g = kStandardGravity * std::cos(p.tilt_radians);
  const double moved = p.vehicle_mass_kg + (p.cell == ForceCell::reaction ? p.piston_mass_kg : p.front_mass_kg);
  const double weight = p.tare == ForceTare::empty ? p.vehicle_mass_kg * g : 0.0;
  const auto in_stroke = [&](double t) { return t > kMotionAt && t < kMotionAt + p.duration; };
  const auto net = [&](double t) { return in_stroke(t) ? p.acceleration(t - kMotionAt) : 0.0; };
  out.traces.traces.push_back(clean_trace("force", Quantity::force, Role::force, p.force_period, p.end_seconds, [&](double t) {
    return t >= kMotionAt + p.duration ? weight - p.vehicle_mass_kg * g : weight + moved * net(t);
  }));
  out.traces.traces.push_back(clean_trace("acceleration", Quantity::acceleration, Role::vehicle_acceleration,
                                          p.acceleration_period, p.end_seconds,
                                          [&](double t) { return t >= kMotionAt + p.duration ? 0.0 : g + net(t); }));
  out.traces.traces.push_back(clean_trace("supply", Quantity::gauge_pressure, Role::supply_pressure, p.force_period,
                                          p.end_seconds,
                                          [&](double t) { return 8.0e5 - 4.0e6 * std::max(0.0, t - kMotionAt + 0.001); }));
  out.traces.release_commanded_seconds = 0.19;
  out.traces.detector = {DecisionSource::memory, {kMotionAt + 0.020}, 0.0, 0.0, p.end_seconds};
  TrialSetup& s = out.setup;
  s.vehicle_mass_kg = p.vehicle_mass_kg;
  s.moving_rig_mass_kg = p.piston_mass_kg;
  s.front_hardware_mass_kg = p.front_mass_kg;
  s.stroke_metres = p.stroke_metres;
  s.bore_metres = 0.04;
  s.tilt_radians = p.tilt_radians;
  s.force_cell = p.cell;
  s.force_tare = p.tare;
  s.decision_deadline_seconds = 0.030;
  return out;
}

inline double value_of(const TrialResult& result, std::string_view name) {
  const Metric* metric = result.metric(name);
  return metric != nullptr && metric->measured() != nullptr ? metric->measured()->value : NAN;
}

inline bool has_finding(const TrialResult& result, std::string_view kind) {
  for (const Finding& finding : result.findings)
    if (finding.kind == kind) return true;
  return false;
}

}  // namespace coldstroke::analysis
