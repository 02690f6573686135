// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/analysis/trial/synthetic_ejection.hpp"

#include <algorithm>
#include <boost/math/constants/constants.hpp>
#include <cmath>
#include <random>

namespace coldstroke::analysis {
namespace {

constexpr double kStep = 10.0e-6;        // of the truth, s
constexpr double kForcePeriod = 100e-6;  // of force and pressure, s
constexpr double kRelease = 0.4, kEnd = 1.2;

class Dice {
 public:
  explicit Dice(std::uint64_t seed) : engine_{seed} {}
  double normal(double sigma) { return sigma > 0.0 ? std::normal_distribution<double>{0.0, sigma}(engine_) : 0.0; }
  double between(double a, double b) { return std::uniform_real_distribution<double>{a, b}(engine_); }

 private:
  std::mt19937_64 engine_;
};

/// Truth on the fine grid, from release on: change of the stand's force, supply gauge pressure, vehicle's felt acceleration.
struct Fine {
  std::vector<double> force, supply, felt;
  double first_motion = 0.0, exit = 0.0;  ///< seconds after release: where force and felt jump, between two points of the grid
};

double weight_per_kg(const StrokeParameters& q) { return kStandardGravity * std::cos(q.tilt_radians); }

Fine walk(const SyntheticOptions& o, Truth& truth) {
  const StrokeParameters& q = o.rig;
  StrokeState s;
  s.reservoir_pascals = q.ambient_pascals + o.charge_gauge_pascals;
  s.chamber_pascals = q.ambient_pascals;
  const double g = weight_per_kg(q), pi = boost::math::constants::pi<double>();
  const double moved = q.vehicle_mass_kg + (o.in_line ? 0.0 : q.piston_mass_kg);
  Fine out;
  double exit = -1.0;
  const auto open = [&](double t) {
    std::vector<double> all;
    for (const Valve& valve : q.valves) all.push_back(opening(valve, t));
    return all;
  };
  for (int k = 0; k * kStep < kEnd - kRelease; ++k) {
    const double t = k * kStep;
    const double a = acceleration(q, s);
    double force = moved * a, felt = a + g;
    if (exit >= 0.0) {
      felt = 0.0;
      const double since = t - exit, stop = q.piston_mass_kg * truth.exit_speed * pi / (2.0 * o.stop_seconds);
      force = -q.vehicle_mass_kg * g;
      if (!o.in_line && since < o.stop_seconds) force -= stop * std::sin(pi * since / o.stop_seconds);
    }
    out.force.push_back(force);
    out.felt.push_back(felt);
    out.supply.push_back(s.reservoir_pascals - q.ambient_pascals);
    truth.peak_g = std::max(truth.peak_g, felt / kStandardGravity);
    StrokeEvents events;
    s = advance(q, s, open(t), open(t + 0.5 * kStep), open(t + kStep), kStep, &events);
    if (events.first_motion_seconds) {
      out.first_motion = t + *events.first_motion_seconds;
      truth.first_motion = kRelease + out.first_motion;
    }
    if (events.exit_seconds) {
      out.exit = exit = t + *events.exit_seconds;
      truth.separation = kRelease + exit;
      truth.exit_speed = events.at_exit.speed_mps;
      truth.droop = o.charge_gauge_pascals + q.ambient_pascals - events.at_exit.reservoir_pascals;
    }
  }
  truth.release = kRelease;
  truth.impulse = q.vehicle_mass_kg * truth.exit_speed;
  truth.peak_force = truth.peak_g * kStandardGravity * q.vehicle_mass_kg;
  truth.mean_g = truth.exit_speed / (truth.separation - truth.first_motion) / kStandardGravity + g / kStandardGravity;
  truth.decision = truth.first_motion + o.decision_after_seconds;
  return out;
}

/// Second-order answer on the fine grid, semi-implicit Euler (its error at this step is far below the sensor's doubt). A jump
/// lies where it was, to a tenth of a grid step: a straight line across the grid step would shift it by up to half of that.
std::vector<double> through_cell(const std::vector<double>& input, const Fine& fine, double frequency_hz, double damping) {
  const double w = 2.0 * boost::math::constants::pi<double>() * frequency_hz;
  constexpr int kParts = 10;
  const double h = kStep / kParts;
  const auto jump_in = [&](std::size_t i) {  // parts of grid step i before its jump, if it has one
    for (const double jump : {fine.first_motion, fine.exit})
      if (jump > 0.0 && static_cast<std::size_t>(jump / kStep) == i) return jump / h - static_cast<double>(i * kParts);
    return -1.0;
  };
  double x = input.front(), v = 0.0;
  std::vector<double> out;
  for (std::size_t i = 0; i < input.size(); ++i) {
    out.push_back(x);
    const double next = i + 1 < input.size() ? input[i + 1] : input[i];
    const double jump = jump_in(i);
    for (int k = 0; k < kParts; ++k) {
      const double drive = jump < 0.0 ? input[i] + (next - input[i]) * k / kParts : k + 0.5 < jump ? input[i] : next;
      v += h * (w * w * (drive - x) - 2.0 * damping * w * v);
      x += h * v;
    }
  }
  return out;
}

std::vector<double> through_pole(const std::vector<double>& input, double frequency_hz) {
  const double decay = std::exp(-kStep * 2.0 * boost::math::constants::pi<double>() * frequency_hz);
  std::vector<double> out{input.front()};
  for (std::size_t i = 1; i < input.size(); ++i)
    out.push_back(decay * out.back() + (1.0 - decay) * 0.5 * (input[i - 1] + input[i]));
  return out;
}

struct Sensor {
  double period, gain, zero, noise, range, rest;
  int bits;
};

Trace sample(const std::vector<double>& fine, const Sensor& sensor, double phase, Dice& dice) {
  Trace out;
  out.start_seconds = phase;
  out.period_seconds = sensor.period;
  out.resolution = 2.0 * sensor.range / std::ldexp(1.0, sensor.bits);
  std::size_t run = 0;
  for (double t = phase; t < kEnd; t += sensor.period) {
    const double place = (t - kRelease) / kStep;
    double value = sensor.rest;
    if (place >= 0.0) {
      const auto k = std::min(static_cast<std::size_t>(place), fine.size() - 2);
      value = fine[k] + (fine[k + 1] - fine[k]) * std::min(1.0, place - static_cast<double>(k));
    }
    const double read =
        std::clamp((1.0 + sensor.gain) * value + sensor.zero + dice.normal(sensor.noise), -sensor.range, sensor.range);
    out.samples.push_back(std::round(read / out.resolution) * out.resolution);
    const bool clipped = std::abs(read) >= sensor.range;
    run = clipped ? run + 1 : 0;
    if (run == 3) out.saturated.push_back({out.samples.size() - 3, out.samples.size()});
    if (run > 3) out.saturated.back().last = out.samples.size();
  }
  return out;
}

}  // namespace

SyntheticTrial synthetic_ejection(const SyntheticOptions& o, std::uint64_t seed) {
  Dice dice{seed};
  SyntheticTrial out;
  const Fine fine = walk(o, out.truth);
  const double g = weight_per_kg(o.rig);
  std::vector<double> force =
      through_cell(fine.force, fine, o.cell_natural_frequency_hz * (1.0 + dice.normal(o.cell_frequency_error)), o.cell_damping);
  const double weight = o.tare_empty ? o.rig.vehicle_mass_kg * g : 0.0;
  for (double& f : force) f += weight;
  Trace cell = sample(
      force, {kForcePeriod, dice.normal(o.force_gain_u), dice.normal(o.force_zero_u), o.force_noise, o.force_range, weight, 16},
      dice.between(0.0, kForcePeriod), dice);
  cell.name = "force";
  cell.quantity = Quantity::force;
  cell.role = Role::force;
  cell.gain_standard_uncertainty = o.force_gain_u;
  cell.zero_standard_uncertainty = o.force_zero_u;
  Trace supply = sample(through_pole(fine.supply, o.pressure_pole_hz),
                        {kForcePeriod, dice.normal(o.pressure_gain_u), dice.normal(o.pressure_zero_u), o.pressure_noise, 1.6e6,
                         o.charge_gauge_pascals, 16},
                        cell.start_seconds, dice);
  supply.name = "supply";
  supply.quantity = Quantity::gauge_pressure;
  supply.role = Role::supply_pressure;
  supply.gain_standard_uncertainty = o.pressure_gain_u;
  supply.zero_standard_uncertainty = o.pressure_zero_u;
  Trace felt = sample(through_cell(fine.felt, fine, o.acceleration_frequency_hz, o.acceleration_damping),
                      {o.acceleration_period, dice.normal(o.acceleration_gain_u), dice.normal(o.acceleration_zero_u),
                       o.acceleration_noise, o.acceleration_range, g, 16},
                      dice.between(0.0, o.acceleration_period), dice);
  const double clock_error = dice.normal(o.alignment_u);
  felt.start_seconds += clock_error;
  felt.name = "acceleration";
  felt.quantity = Quantity::acceleration;
  felt.role = Role::vehicle_acceleration;
  felt.gain_standard_uncertainty = o.acceleration_gain_u;
  felt.zero_standard_uncertainty = o.acceleration_zero_u;
  felt.alignment_standard_uncertainty_seconds = o.alignment_u;
  out.traces.traces = {cell, supply, felt};
  out.traces.release_commanded_seconds = kRelease;
  out.traces.detector = {DecisionSource::memory, {out.truth.decision + clock_error}, o.alignment_u, 0.0, kEnd};
  TrialSetup& s = out.setup;
  s.vehicle_mass_kg = o.rig.vehicle_mass_kg + dice.normal(o.vehicle_mass_u);
  s.vehicle_mass_standard_uncertainty_kg = o.vehicle_mass_u;
  s.moving_rig_mass_kg = o.rig.piston_mass_kg + dice.normal(o.piston_mass_u);
  s.moving_rig_mass_standard_uncertainty_kg = o.piston_mass_u;
  s.stroke_metres = o.rig.stroke_metres + dice.normal(o.stroke_u);
  s.stroke_standard_uncertainty_metres = o.stroke_u;
  s.bore_metres = o.rig.bore_metres;
  s.tilt_radians = o.rig.tilt_radians;
  s.force_cell = o.in_line ? ForceCell::in_line : ForceCell::reaction;
  s.force_tare = o.tare_empty ? ForceTare::empty : ForceTare::vehicle_seated;
  s.force_cell_natural_frequency_hz = o.cell_natural_frequency_hz;
  s.decision_deadline_seconds = 0.030;
  return out;
}

SyntheticOptions varied_options(std::uint64_t seed) {
  Dice dice{seed * 7919 + 17};
  SyntheticOptions o;
  o.rig.valves.assign(2, Valve{8.0e-8, 0.3, 0.006, dice.between(0.004, 0.012)});
  o.rig.valves[1].dead_time_seconds += dice.between(0.0, 0.002);
  o.rig.vehicle_mass_kg = dice.between(1.2, 2.5);
  o.rig.piston_mass_kg = dice.between(0.08, 0.3);
  o.rig.breakaway_newtons = dice.between(18.0, 80.0);
  o.rig.tilt_radians = dice.between(0.0, 0.1);
  o.charge_gauge_pascals = dice.between(5.0e5, 9.0e5);
  o.cell_natural_frequency_hz = dice.between(1500.0, 3000.0);
  o.cell_damping = std::exp(dice.between(std::log(0.03), std::log(0.7)));
  o.force_noise = dice.between(0.4, 1.5);
  o.stop_seconds = dice.between(0.8e-3, 2.0e-3);
  o.tare_empty = seed % 2 == 1;
  return o;
}

}  // namespace coldstroke::analysis
