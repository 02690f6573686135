// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/rig_physics.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>

#include "protocol/board/rig_board.h"

namespace coldstroke::daq {
namespace {

constexpr double kShortStep = 20.0e-6;  // pneumatics reference: fixed steps of 20 us hold 0.2 %
constexpr double kLongStep = 100.0e-6;
constexpr double kRingSeconds = 0.03;     // after a blow the cell rings; keep steps short
constexpr double kVentedPascals = 0.2e5;  // a person goes near below this
constexpr double kHammerDelay = 0.0005, kHammerSeconds = 0.004;
constexpr double kJammedNewtons = 1.0e12;
constexpr double kPi = std::numbers::pi;

analysis::Valve valve_of(const Scenario::Valves& v) {
  return {.conductance = v.fast_conductance,
          .critical_ratio = v.fast_critical_ratio,
          .dead_time_seconds = v.fast_dead_seconds,
          .opening_seconds = v.fast_opening_seconds};
}

double half_sine(double since, double duration) {
  return since >= 0.0 && since < duration ? std::sin(kPi * since / duration) : 0.0;
}

}  // namespace

RigPhysics::RigPhysics(const Scenario& scenario, std::uint64_t seed)
    : scenario_{scenario},
      draw_{seed, 1},
      scatter_{seed, 2},
      drawn_{.vehicle_mass_kg = scenario.vehicle.mass_kg + scenario.vehicle.mass_standard_uncertainty_kg * draw_.normal(),
             .piston_mass_kg = scenario.tube.piston_mass_kg + scenario.tube.piston_mass_standard_uncertainty_kg * draw_.normal(),
             .stroke_metres = scenario.tube.stroke_metres + scenario.tube.stroke_standard_uncertainty_metres * draw_.normal()},
      fast_{ValveDrive{scenario.valves.fast_dead_seconds, scenario.valves.fast_opening_seconds, false},
            ValveDrive{scenario.valves.fast_dead_seconds, scenario.valves.fast_opening_seconds, false}},
      charge_{scenario.valves.slow_dead_seconds, scenario.valves.slow_opening_seconds, false},
      vent_{scenario.valves.slow_dead_seconds, scenario.valves.slow_opening_seconds, true},
      flight_{scenario, drawn_.vehicle_mass_kg},
      open_start_(2),
      open_mid_(2),
      open_end_(2) {
  parameters_.bore_metres = scenario.tube.bore_metres;
  parameters_.stroke_metres = drawn_.stroke_metres;
  parameters_.vehicle_mass_kg = drawn_.vehicle_mass_kg;
  parameters_.piston_mass_kg = drawn_.piston_mass_kg;
  parameters_.reservoir_volume_m3 = scenario.gas.reservoir_volume_m3;
  parameters_.dead_volume_m3 = scenario.gas.dead_volume_m3;
  parameters_.valves = {valve_of(scenario.valves), valve_of(scenario.valves)};
  parameters_.tilt_radians = scenario.tube.tilt_radians;
  parameters_.ambient_pascals = scenario.gas.ambient_pascals;
  parameters_.ambient_kelvin = scenario.gas.ambient_kelvin;
  parameters_.regulator_band_pascals = scenario.gas.regulator_band_pascals;
  parameters_.reservoir_wall_watts_per_kelvin = scenario.gas.wall_watts_per_kelvin;
  state_.reservoir_pascals = state_.chamber_pascals = scenario.gas.ambient_pascals;
  state_.reservoir_kelvin = state_.chamber_kelvin = scenario.gas.ambient_kelvin;
  draw_ejection();
  loads_ = loads_at(0.0, 0.0);
}

void RigPhysics::draw_ejection() {
  const Scenario::Tube& tube = scenario_.tube;
  parameters_.running_friction_newtons =
      tube.running_friction_newtons * std::max(0.0, 1.0 + tube.friction_scatter * scatter_.normal());
  breakaway_newtons_ = tube.breakaway_newtons * std::max(0.0, 1.0 + tube.friction_scatter * scatter_.normal());
  for (ValveDrive& valve : fast_)
    valve.set_dead_seconds(
        std::max(0.0, scenario_.valves.fast_dead_seconds + scenario_.valves.fast_jitter_seconds * scatter_.normal()));
}

void RigPhysics::command(std::uint16_t outputs, double now) {
  const bool was_shut = !fast_[0].commanded() && !fast_[1].commanded();
  fast_[0].command((outputs & CS_VALVE_FAST_1) != 0, now);
  fast_[1].command((outputs & CS_VALVE_FAST_2) != 0, now);
  charge_.command((outputs & CS_VALVE_CHARGE) != 0, now);
  vent_.command((outputs & CS_VALVE_VENT) != 0, now);
  lid_open_commanded_ = (outputs & CS_LID_OPEN) != 0;
  if (was_shut && (fast_[0].commanded() || fast_[1].commanded())) {
    hammer_at_ = now + kHammerDelay;
    if (!story_.first_motion_seconds) {
      story_.release_seconds = now;
      story_.reservoir_at_release_pascals = gauge();
      story_.pressures.release(now, loads_.supply_pascals, loads_.chamber_pascals);
    }
  }
}

double RigPhysics::fast_opening(std::size_t valve, double when) const {
  if (faults_.fast_open[valve]) return 1.0;
  return faults_.fast_shut[valve] ? 0.0 : fast_[valve].opening(when);
}

double RigPhysics::step_seconds() const {
  for (std::size_t i = 0; i < 2; ++i)
    if (fast_[i].busy(now_) || fast_opening(i, now_) > 0.0) return kShortStep;
  if (state_.moving || now_ < left_at_ + kRingSeconds) return kShortStep;
  return flight_.place() == Place::landing ? kShortStep : kLongStep;
}

void RigPhysics::openings(double when, std::vector<double>& out) const {
  for (std::size_t i = 0; i < 2; ++i) out[i] = fast_opening(i, when);
}

/// What the slow valves and the faults let through now; they move slowly against a step.
void RigPhysics::prepare_parameters() {
  const Scenario::Gas& gas = scenario_.gas;
  parameters_.reservoir_vent_conductance =
      gas.vent_conductance * faults_.vent_factor * vent_.opening(now_) + faults_.leak_conductance;
  if (gauge() > gas.relief_pascals) parameters_.reservoir_vent_conductance += gas.relief_conductance;
  const bool shut = fast_opening(0, now_) <= 0.0 && fast_opening(1, now_) <= 0.0;
  parameters_.chamber_vent_conductance = shut ? gas.exhaust_conductance : 0.0;
  const double charging = charge_.opening(now_);
  parameters_.regulator_flow_kg_per_s = charging > 0.0 ? charging * gas.regulator_flow_kg_per_s : faults_.creep_kg_per_s;
  parameters_.breakaway_newtons = faults_.jammed ? kJammedNewtons : breakaway_newtons_;
  parameters_.regulator_set_pascals =
      gas.ambient_pascals +
      std::max(gas.regulator_set_pascals, faults_.creep_kg_per_s > 0.0 ? faults_.creep_lock_up_pascals : 0.0);
}

double RigPhysics::next_corner(double end) const {
  double corner = end;
  for (const ValveDrive& valve : fast_)
    for (const double at : {valve.ramp_start(), valve.ramp_end()})
      if (at > now_ + 1.0e-9 && at < corner - 1.0e-9) corner = at;
  return corner;
}

void RigPhysics::advance(double end, std::vector<LoadRun>& runs) {
  runs.clear();
  prepare_parameters();
  const double travel = scenario_.valves.lid_travel_seconds > 0.0 ? (end - now_) / scenario_.valves.lid_travel_seconds : 1.0;
  lid_ = std::clamp(lid_ + (lid_open_commanded_ ? travel : -travel), 0.0, 1.0);
  while (now_ < end) gas_step(next_corner(end), runs);
  person();
}

void RigPhysics::gas_step(double end, std::vector<LoadRun>& runs) {
  const double start = now_, step = end - start;
  const double inside = 1.0e-6 * step;  // a valve without a ramp jumps at its corner
  openings(start + inside, open_start_);
  openings(start + 0.5 * step, open_mid_);
  openings(end - inside, open_end_);
  analysis::StrokeEvents events;
  const analysis::StrokeState after = analysis::advance(parameters_, state_, open_start_, open_mid_, open_end_, step, &events);
  double piece = start;
  Loads from = loads_;
  const auto run_to = [&](double when, const Loads& to) {
    if (when > piece) runs.push_back({piece, when, from, to});
    piece = when;
  };
  if (events.first_motion_seconds && in_tube_) {
    const double when = start + *events.first_motion_seconds;
    run_to(when, from);
    // Friction falls at once from breakaway to running: the cell sees a step there, not a ramp to the end of this piece.
    analysis::StrokeState let_go = state_;
    let_go.moving = true;
    let_go.chamber_pascals += (after.chamber_pascals - state_.chamber_pascals) * *events.first_motion_seconds / step;
    from = loads_at(analysis::acceleration(parameters_, let_go), when);
    if (!story_.first_motion_seconds) {
      story_.first_motion_seconds = when;
      if (!story_.release_seconds) story_.reservoir_at_release_pascals = gauge();
    }
  }
  if (events.exit_seconds && in_tube_) {
    const double when = start + *events.exit_seconds;
    const double last = analysis::acceleration(parameters_, events.at_exit);
    note_extremes(last, when);
    state_ = events.at_exit;
    run_to(when, loads_at(last, when));
    leave_tube(when, events.at_exit);
    state_ = after;
    from = loads_at(0.0, when);
  }
  state_ = after;
  now_ = end;
  if (!in_tube_) {
    const bool flying = flight_.place() == Place::airborne;
    flight_.advance(end);
    if (flying && flight_.place() != Place::airborne) story_.landing_seconds = end;
    story_.apex_metres = std::max(story_.apex_metres, flight_.apex_metres());
    if (story_.separation_seconds) note_recovery(step);
  }
  const double acceleration = in_tube_ ? analysis::acceleration(parameters_, state_) : 0.0;
  if (in_tube_ && story_.first_motion_seconds) note_extremes(acceleration, end);
  loads_ = loads_at(acceleration, end);
  story_.pressures.step(end, loads_.supply_pascals, loads_.chamber_pascals);
  run_to(end, loads_);
}

void RigPhysics::leave_tube(double when, const analysis::StrokeState& at_exit) {
  in_tube_ = false;
  left_at_ = when;
  left_speed_ = at_exit.speed_mps;
  story_.separation_seconds = when;
  story_.pressures.separation(when);
  story_.exit_speed_mps = at_exit.speed_mps;
  story_.reservoir_at_separation_pascals = at_exit.reservoir_pascals - scenario_.gas.ambient_pascals;
  note_rise();
  lowest_mean_ = std::numeric_limits<double>::infinity();
  milliseconds_.clear();
  under_way_ = under_way_seconds_ = 0.0;
  flight_.leave(when, at_exit.speed_mps);
  if (scenario_.vehicle.cable_drops || faults_.cable_drops) cable_ = false;
}

void RigPhysics::note_extremes(double acceleration_mps2, double when) {
  pushes_.push_back({when, acceleration_mps2});
  const double across = std::hypot(loads_at(acceleration_mps2, when).felt_mps2[0] - loads_at(0.0, when).felt_mps2[0],
                                   loads_at(acceleration_mps2, when).felt_mps2[1]);
  story_.lateral_peak_mps2 = std::max(story_.lateral_peak_mps2, across);
  if (acceleration_mps2 <= story_.peak_acceleration_mps2) return;
  story_.peak_acceleration_mps2 = acceleration_mps2;
  story_.peak_time_seconds = when;
}

/// First crossings of 10 and 90 % of the peak, between steps of the integration.
void RigPhysics::note_rise() {
  const auto crossing = [this](double level) -> std::optional<double> {
    for (std::size_t i = 0; i < pushes_.size(); ++i) {
      if (pushes_[i].acceleration_mps2 < level) continue;
      if (i == 0) return pushes_[0].when;
      const Push &low = pushes_[i - 1], &high = pushes_[i];
      return low.when +
             (high.when - low.when) * (level - low.acceleration_mps2) / (high.acceleration_mps2 - low.acceleration_mps2);
    }
    return std::nullopt;
  };
  const auto low = crossing(0.1 * story_.peak_acceleration_mps2), high = crossing(0.9 * story_.peak_acceleration_mps2);
  if (low && high) story_.rise_time_seconds = *high - *low;
}

/// What the wall's heat and the feed give back: means over 50 ms, moved on by a millisecond.
void RigPhysics::note_recovery(double seconds) {
  under_way_ += gauge() * seconds;
  under_way_seconds_ += seconds;
  if (under_way_seconds_ < 0.999e-3) return;
  milliseconds_.push_back(under_way_ / under_way_seconds_);
  under_way_ = under_way_seconds_ = 0.0;
  constexpr std::size_t kMilliseconds = 50;
  if (milliseconds_.size() > kMilliseconds) milliseconds_.pop_front();
  if (milliseconds_.size() < kMilliseconds) return;
  const double mean = std::accumulate(milliseconds_.begin(), milliseconds_.end(), 0.0) / kMilliseconds;
  lowest_mean_ = std::min(lowest_mean_, mean);
  story_.recovery_pascals = std::max(story_.recovery_pascals, mean - lowest_mean_);
}

/// The person beside the rig: goes near once the gas is out, picks the vehicle up (or frees it in the tube) and seats it again.
void RigPhysics::person() {
  if (flight_.place() == Place::handled) return;
  if (!in_tube_ && flight_.place() == Place::seated) return seat_vehicle(now_);
  const bool low = gauge() < kVentedPascals && state_.chamber_pascals - scenario_.gas.ambient_pascals < kVentedPascals;
  if (!low || !vent_.commanded() || state_.moving) return;
  const bool lies = flight_.place() == Place::lying && now_ >= flight_.since() + scenario_.vehicle.recover_seconds;
  const bool stuck =
      in_tube_ && story_.release_seconds && now_ >= *story_.release_seconds + 1.0 + scenario_.vehicle.recover_seconds;
  if (!lies && !stuck) return;
  in_tube_ = false;
  flight_.pick_up(now_);
}

void RigPhysics::seat_vehicle(double now) {
  in_tube_ = cable_ = true;
  state_.travel_metres = state_.speed_mps = 0.0;
  state_.moving = false;
  state_.chamber_pascals = scenario_.gas.ambient_pascals;
  state_.chamber_kelvin = scenario_.gas.ambient_kelvin;
  finished_ = story_;
  story_ = {};
  story_.number = finished_->number + 1;
  pushes_.clear();
  draw_ejection();
  loads_ = loads_at(0.0, now);
}

std::optional<EjectionStory> RigPhysics::take_finished() {
  std::optional<EjectionStory> out;
  out.swap(finished_);
  return out;
}

/// The piston on its bumper gives its momentum to the stand within a moment: the cell reads it with the opposite sign.
double RigPhysics::blow(double now) const {
  const double duration = scenario_.tube.bumper_seconds;
  return drawn_.piston_mass_kg * left_speed_ * kPi / (2.0 * duration) * half_sine(now - left_at_, duration);
}

double RigPhysics::force_of(double acceleration_mps2, double now) const {
  const double weight = drawn_.vehicle_mass_kg * analysis::kStandardGravity * std::cos(scenario_.tube.tilt_radians);
  if (scenario_.force_in_line) return in_tube_ ? drawn_.vehicle_mass_kg * acceleration_mps2 : -weight;
  return in_tube_ ? (drawn_.vehicle_mass_kg + drawn_.piston_mass_kg) * acceleration_mps2 : -weight - blow(now);
}

Loads RigPhysics::loads_at(double acceleration_mps2, double now) const {
  Loads out;
  out.force_newtons = force_of(acceleration_mps2, now);
  out.supply_pascals = gauge();
  out.chamber_pascals = state_.chamber_pascals - scenario_.gas.ambient_pascals;
  if (in_tube_) {
    const double g = analysis::kStandardGravity, tilt = scenario_.tube.tilt_radians;
    const double shock = faults_.hammer_mps2 * half_sine(now - hammer_at_, kHammerSeconds);
    // The vehicle rattles a little in its sabot: a hundredth of the thrust across the tube.
    const double rattle = 0.01 * acceleration_mps2 * std::sin(2.0 * kPi * 170.0 * now);
    out.felt_mps2 = {g * std::sin(tilt) + rattle, -0.7 * rattle, acceleration_mps2 + g * std::cos(tilt) + shock};
  } else {
    const VehicleFlight::Felt felt = flight_.felt(now);
    out.felt_mps2 = {felt.x, 0.0, felt.z};
  }
  return out;
}

std::uint16_t RigPhysics::readback() const {
  const auto stands_open = [&](double opening) { return opening > 0.5; };
  unsigned out = 0;
  if (stands_open(charge_.opening(now_))) out |= CS_VALVE_CHARGE;
  if (stands_open(vent_.opening(now_))) out |= CS_VALVE_VENT;
  // A stuck-shut spool is not seen: the fast valves' read-back is the coil's current. One that stands open is seen by its switch.
  if (stands_open(fast_[0].opening(now_)) || faults_.fast_open[0]) out |= CS_VALVE_FAST_1;
  if (stands_open(fast_[1].opening(now_)) || faults_.fast_open[1]) out |= CS_VALVE_FAST_2;
  if (lid_ >= 1.0) out |= CS_LID_OPEN;
  return static_cast<std::uint16_t>(out);
}

std::uint16_t RigPhysics::lid_switches() const {
  unsigned out = 0;
  if (lid_ >= 1.0) out |= CS_INPUT_LID_OPEN_SWITCH;
  if (lid_ <= 0.0) out |= CS_INPUT_LID_SHUT_SWITCH;
  return static_cast<std::uint16_t>(out);
}

}  // namespace coldstroke::daq
