// SPDX-License-Identifier: GPL-3.0-or-later
//
// The equations: mass and first-law balance of reservoir and chamber (perfect gas), Newton for the moving mass.
// Integrated in pressures and gas masses; temperatures follow from both. The chamber's volume moves, so closing the energy
// budget is a real test of the integration.
#include "analysis/pneumatics/stroke_model.hpp"

#include <algorithm>
#include <boost/math/constants/constants.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cassert>
#include <cmath>

namespace coldstroke::analysis {
namespace {

enum Component : std::size_t { reservoir_p, reservoir_m, chamber_p, chamber_m, travel, speed, kComponents };
using Vector = std::array<double, kComponents>;

enum class Mode { held, forward, backward };

/// Makes a speed comparable with a travel where the end of a mode is sought; only its sign and smoothness matter.
constexpr double kSpeedWeight = 1.0e-3;

double bore_area(const StrokeParameters& q) {
  return 0.25 * boost::math::constants::pi<double>() * q.bore_metres * q.bore_metres;
}
double moving_mass(const StrokeParameters& q) { return q.vehicle_mass_kg + q.piston_mass_kg; }
double chamber_volume(const StrokeParameters& q, double x) { return q.dead_volume_m3 + bore_area(q) * x; }

/// Push of the gas less weight, N along the tube; what friction has to hold or fight.
double driving_force(const StrokeParameters& q, double chamber_pascals) {
  return (chamber_pascals - q.ambient_pascals) * bore_area(q) - moving_mass(q) * kStandardGravity * std::cos(q.tilt_radians);
}

double running_friction(const StrokeParameters& q, double chamber_pascals) {
  return q.running_friction_newtons + q.seal_friction_fraction * std::abs(chamber_pascals - q.ambient_pascals) * bore_area(q);
}

double acceleration_in(const StrokeParameters& q, Mode mode, double chamber_pascals) {
  if (mode == Mode::held) return 0.0;
  const double friction = running_friction(q, chamber_pascals) * (mode == Mode::forward ? 1.0 : -1.0);
  return (driving_force(q, chamber_pascals) - friction) / moving_mass(q);
}

/// Valve openings anywhere in the step: the parabola through start, middle and end.
struct Openings {
  const std::vector<double>&start, &mid, &end;
  [[nodiscard]] double at(std::size_t valve, double fraction) const {
    const double a = start[valve], b = mid[valve], c = end[valve];
    const double value = a + fraction * (4.0 * b - 3.0 * a - c) + fraction * fraction * 2.0 * (a - 2.0 * b + c);
    return std::clamp(value, std::min({a, b, c}), std::max({a, b, c}));
  }
  [[nodiscard]] double largest(std::size_t valve) const { return std::max({start[valve], mid[valve], end[valve]}); }
};

double temperature(double pascals, double volume, double mass) { return pascals * volume / (mass * kAirGasConstant); }

/// Net inflow of one volume: mass, and mass times the temperature it arrives or leaves with.
struct Inflow {
  double mass = 0.0, mass_kelvin = 0.0;
  void add(double flow, double source_kelvin) {
    mass += flow;
    mass_kelvin += flow * source_kelvin;
  }
};

Vector derivative(const StrokeParameters& q, Mode mode, const Openings& openings, double fraction, const Vector& y) {
  const double volume = chamber_volume(q, y[travel]);
  const double pr = y[reservoir_p], pc = y[chamber_p];
  const double tr = temperature(pr, q.reservoir_volume_m3, y[reservoir_m]), tc = temperature(pc, volume, y[chamber_m]);
  Inflow reservoir, chamber;
  for (std::size_t i = 0; i < q.valves.size(); ++i) {
    const double conductance = q.valves[i].conductance * openings.at(i, fraction);
    if (conductance <= 0.0) continue;
    const double flow = iso6358_mass_flow(conductance, q.valves[i].critical_ratio, pr, tr, pc, tc);
    const double source = flow >= 0.0 ? tr : tc;
    reservoir.add(-flow, source);
    chamber.add(flow, source);
  }
  const auto vent = [&q](Inflow& from, double conductance, double p, double t) {
    if (conductance <= 0.0) return;
    const double flow = iso6358_mass_flow(conductance, q.vent_critical_ratio, p, t, q.ambient_pascals, q.ambient_kelvin);
    from.add(-flow, flow >= 0.0 ? t : q.ambient_kelvin);
  };
  vent(reservoir, q.reservoir_vent_conductance, pr, tr);
  vent(chamber, q.chamber_vent_conductance, pc, tc);
  if (q.regulator_flow_kg_per_s > 0.0)
    reservoir.add(q.regulator_flow_kg_per_s * std::clamp((q.regulator_set_pascals - pr) / q.regulator_band_pascals, 0.0, 1.0),
                  q.ambient_kelvin);

  const double v = mode == Mode::held ? 0.0 : y[speed];
  Vector d{};
  d[reservoir_m] = reservoir.mass;
  d[chamber_m] = chamber.mass;
  d[travel] = v;
  d[speed] = acceleration_in(q, mode, pc);
  if (q.isothermal) {
    d[reservoir_p] = kAirGasConstant * q.ambient_kelvin * reservoir.mass / q.reservoir_volume_m3;
    d[chamber_p] = (kAirGasConstant * q.ambient_kelvin * chamber.mass - pc * bore_area(q) * v) / volume;
  } else {
    constexpr double gamma = kAirHeatCapacityRatio;
    const double heat = q.reservoir_wall_watts_per_kelvin * (q.ambient_kelvin - tr);
    d[reservoir_p] = (gamma * kAirGasConstant * reservoir.mass_kelvin + (gamma - 1.0) * heat) / q.reservoir_volume_m3;
    d[chamber_p] = gamma * (kAirGasConstant * chamber.mass_kelvin - pc * bore_area(q) * v) / volume;
  }
  return d;
}

Vector plus(const Vector& y, double factor, const Vector& d) {
  Vector out;
  for (std::size_t i = 0; i < kComponents; ++i) out[i] = y[i] + factor * d[i];
  return out;
}

/// Part of one call of `advance`: from `from` for `length`, both as fractions of its step.
struct Span {
  double from, length;
};

Vector runge_kutta(const StrokeParameters& q, Mode mode, const Openings& openings, const Vector& y, Span span, double step) {
  const double h = span.length * step, middle = span.from + 0.5 * span.length;
  const Vector k1 = derivative(q, mode, openings, span.from, y);
  const Vector k2 = derivative(q, mode, openings, middle, plus(y, 0.5 * h, k1));
  const Vector k3 = derivative(q, mode, openings, middle, plus(y, 0.5 * h, k2));
  const Vector k4 = derivative(q, mode, openings, span.from + span.length, plus(y, h, k3));
  Vector out;
  for (std::size_t i = 0; i < kComponents; ++i) out[i] = y[i] + h / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]);
  return out;
}

/// Fastest rate of the gas, 1/s, an upper estimate: conductance over volume times the steepest slope of the characteristic,
/// that of its linear end. Runge-Kutta 4 stays stable up to 2.78 on the real axis.
double gas_rate(const StrokeParameters& q, const Openings& openings, const Vector& y) {
  const double volume = chamber_volume(q, y[travel]);
  const double pr = y[reservoir_p], pc = y[chamber_p], pa = q.ambient_pascals;
  const double hottest =
      std::max({temperature(pr, q.reservoir_volume_m3, y[reservoir_m]), temperature(pc, volume, y[chamber_m]), q.ambient_kelvin});
  const double per_conductance = kAirHeatCapacityRatio * kIsoReferenceDensity * kAirGasConstant * hottest * 1.1;
  const auto slope = [](double b, double p1, double p2) {
    return std::sqrt(2.0 * 0.001 / (1.0 - b)) / 0.001 + std::max(p1, p2) / std::min(p1, p2);
  };
  double into_reservoir = 0.0, into_chamber = 0.0;
  for (std::size_t i = 0; i < q.valves.size(); ++i) {
    const double flow = q.valves[i].conductance * openings.largest(i) * slope(q.valves[i].critical_ratio, pr, pc);
    into_reservoir += flow;
    into_chamber += flow;
  }
  into_reservoir += q.reservoir_vent_conductance * slope(q.vent_critical_ratio, pr, pa);
  into_chamber += q.chamber_vent_conductance * slope(q.vent_critical_ratio, pc, pa);
  const double regulator = kAirHeatCapacityRatio * kAirGasConstant * q.ambient_kelvin * q.regulator_flow_kg_per_s /
                           (q.regulator_band_pascals * q.reservoir_volume_m3);
  return per_conductance * (into_reservoir / q.reservoir_volume_m3 + into_chamber / volume) + regulator +
         kAirHeatCapacityRatio * bore_area(q) * std::abs(y[speed]) / volume;
}

/// One call of `advance` at work: the vector, the mode, and how far through the step it has come.
struct Walk {
  const StrokeParameters& q;
  const Openings& openings;
  double step;
  StrokeEvents* events;
  Vector y;
  Mode mode;
  double done = 0.0;  ///< fraction of the step

  [[nodiscard]] bool at_stop() const { return mode == Mode::held && y[travel] >= q.stroke_metres; }

  /// > 0 once the present mode no longer holds.
  [[nodiscard]] double overrun(const Vector& state) const {
    if (mode == Mode::forward) return std::max(state[travel] - q.stroke_metres, -state[speed] * kSpeedWeight);
    if (mode == Mode::backward) return std::max(-state[travel], state[speed] * kSpeedWeight);
    if (at_stop()) return -1.0;
    const double drive = driving_force(q, state[chamber_p]);
    return (y[travel] > 0.0 ? std::abs(drive) : drive) - std::max(q.breakaway_newtons, running_friction(q, state[chamber_p]));
  }

  void change_mode() {
    if (mode == Mode::held) {
      mode = driving_force(q, y[chamber_p]) >= 0.0 ? Mode::forward : Mode::backward;
      if (events != nullptr && !events->first_motion_seconds && mode == Mode::forward) events->first_motion_seconds = done * step;
      return;
    }
    // The crossing lies on the edge of one of two bounds, to rounding: the one that `overrun` took.
    const bool left = mode == Mode::forward && y[travel] - q.stroke_metres >= -y[speed] * kSpeedWeight;
    if (left) y[travel] = q.stroke_metres;
    y[travel] = std::max(0.0, y[travel]);
    if (events != nullptr && left) {
      events->exit_seconds = done * step;
      events->at_exit = state();
    }
    if (events != nullptr && !left) events->stopped_seconds = done * step;
    y[speed] = 0.0;
    mode = Mode::held;
  }

  [[nodiscard]] StrokeState state() const {
    const double volume = chamber_volume(q, y[travel]);
    return {.reservoir_pascals = y[reservoir_p],
            .reservoir_kelvin = temperature(y[reservoir_p], q.reservoir_volume_m3, y[reservoir_m]),
            .chamber_pascals = y[chamber_p],
            .chamber_kelvin = temperature(y[chamber_p], volume, y[chamber_m]),
            .travel_metres = y[travel],
            .speed_mps = y[speed],
            .moving = mode != Mode::held};
  }

  /// One stable piece, at most to the end of the step, cut short at the first change of mode.
  void take_piece() {
    const double pieces = std::ceil(std::max(1.0, gas_rate(q, openings, y) * (1.0 - done) * step / 2.0));
    const double length = (1.0 - done) / pieces;
    const Vector whole = runge_kutta(q, mode, openings, y, {done, length}, step);
    // A mode just entered starts on its own edge (speed zero): it counts as over only if the piece ends outside it.
    if (overrun(whole) <= 0.0) {
      y = whole;
      done = pieces > 1.0 ? done + length : 1.0;
      return;
    }
    const double cut = length * crossing(length);
    if (cut > 0.0) y = runge_kutta(q, mode, openings, y, {done, cut}, step);
    done = std::min(1.0, done + cut);
    change_mode();
  }

  /// Fraction of a piece at which the mode ends: a root of `overrun`, found on the Runge-Kutta step itself.
  [[nodiscard]] double crossing(double length) const {
    const auto outside = [&](double part) {
      return overrun(part > 0.0 ? runge_kutta(q, mode, openings, y, {done, part * length}, step) : y);
    };
    if (outside(0.0) >= 0.0) return (mode == Mode::held) ? 0.0 : 1.0;
    std::uintmax_t tries = 60;
    const auto [low, high] =
        boost::math::tools::toms748_solve(outside, 0.0, 1.0, boost::math::tools::eps_tolerance<double>(48), tries);
    return 0.5 * (low + high);
  }
};

}  // namespace

StrokeState advance(const StrokeParameters& parameters, const StrokeState& state, const std::vector<double>& openings_start,
                    const std::vector<double>& openings_mid, const std::vector<double>& openings_end, double step_seconds,
                    StrokeEvents* events) {
  assert(openings_start.size() == parameters.valves.size() && openings_mid.size() == parameters.valves.size() &&
         openings_end.size() == parameters.valves.size());
  assert(step_seconds > 0.0);
  const Openings openings{openings_start, openings_mid, openings_end};
  const double volume = chamber_volume(parameters, state.travel_metres);
  Vector y{};
  y[reservoir_p] = state.reservoir_pascals;
  y[reservoir_m] = state.reservoir_pascals * parameters.reservoir_volume_m3 / (kAirGasConstant * state.reservoir_kelvin);
  y[chamber_p] = state.chamber_pascals;
  y[chamber_m] = state.chamber_pascals * volume / (kAirGasConstant * state.chamber_kelvin);
  y[travel] = state.travel_metres;
  y[speed] = state.speed_mps;
  Mode mode = Mode::held;
  if (state.moving) {
    const bool backward =
        state.speed_mps < 0.0 || (state.speed_mps == 0.0 && driving_force(parameters, state.chamber_pascals) < 0.0);
    mode = backward ? Mode::backward : Mode::forward;
  }
  Walk walk{parameters, openings, step_seconds, events, y, mode};
  while (walk.done < 1.0) walk.take_piece();
  return walk.state();
}

double acceleration(const StrokeParameters& parameters, const StrokeState& state) {
  if (!state.moving) return 0.0;
  const bool backward =
      state.speed_mps < 0.0 || (state.speed_mps == 0.0 && driving_force(parameters, state.chamber_pascals) < 0.0);
  return acceleration_in(parameters, backward ? Mode::backward : Mode::forward, state.chamber_pascals);
}

}  // namespace coldstroke::analysis
