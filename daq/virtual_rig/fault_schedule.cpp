// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/fault_schedule.hpp"

#include <algorithm>
#include <utility>

namespace coldstroke::daq {
namespace {

constexpr double kG = analysis::kStandardGravity;
constexpr double kTouchySeconds = 0.002;  // detector_early and detector_late: sustained this long

/// Calls `set` for each board the fault names.
template <class Set>
void for_nodes(const Fault& fault, Set set) {
  const std::string node = fault.word("node");
  if (node != "flight") set(std::size_t{0});
  if (node != "rig") set(std::size_t{1});
}

}  // namespace

FaultSchedule::FaultSchedule(const Scenario& scenario) : scenario_{scenario}, states_(scenario.faults.size()) { rebuild({}); }

bool FaultSchedule::holds(const Fault& fault, double now) const {
  if (fault.ejection != 0 && fault.ejection != ejection_) return false;
  const std::optional<double> since = fault.step ? step_since_.at(*fault.step) : std::optional<double>{seated_at_};
  if (!since) return false;
  const double passed = now - *since - fault.after_seconds;
  return passed >= 0.0 && passed < fault.lasting_seconds;
}

const FaultsInForce& FaultSchedule::update(double now, int ejection, std::uint8_t step) {
  if (ejection != ejection_) {
    ejection_ = ejection;
    seated_at_ = now;
    step_since_ = {};
  }
  if (step < step_since_.size() && !step_since_[step]) step_since_[step] = now;
  bool changed = false;
  std::vector<std::size_t> begun;
  for (std::size_t i = 0; i < states_.size(); ++i) {
    const bool holding = holds(scenario_.faults[i], now);
    if (holding != states_[i].in_force) changed = true;
    State& state = states_[i];
    if (holding && (!state.in_force || state.seen_in != ejection_)) begun.push_back(i);
    if (holding && state.seen_in != ejection_) state.seen_before = std::exchange(state.seen_in, ejection_);
    states_[i].in_force = holding;
  }
  if (changed || !begun.empty()) {
    rebuild(begun);
  } else {
    now_.jump_seconds = {};
    now_.off_seconds = {};
  }
  return now_;
}

void FaultSchedule::rebuild(const std::vector<std::size_t>& begun) {
  now_ = {};
  now_.detector = scenario_.detector;
  now_.rig_firmware = scenario_.rig_firmware_version;
  now_.flight_firmware = scenario_.flight_firmware_version;
  for (std::size_t i = 0; i < states_.size(); ++i)
    if (states_[i].in_force) apply(scenario_.faults[i], std::find(begun.begin(), begun.end(), i) != begun.end());
}

void FaultSchedule::apply(const Fault& fault, bool begins) {
  switch (fault.kind) {
    case FaultKind::clock_jump:
      if (begins) for_nodes(fault, [&](std::size_t n) { now_.jump_seconds[n] = fault.number("jump_seconds"); });
      return;
    case FaultKind::brown_out_reset:
      if (begins) for_nodes(fault, [&](std::size_t n) { now_.off_seconds[n] = fault.number("off_seconds"); });
      return;
    case FaultKind::stop_loop_opens:
      now_.stop_loop_open = true;
      return;
    case FaultKind::key_removed:
      now_.key_out = true;
      return;
    case FaultKind::readback_stuck:
      now_.readback_stuck =
          static_cast<std::uint16_t>(now_.readback_stuck.value_or(0) | static_cast<unsigned>(fault.number("output")));
      return;
    default:
      apply_to_lines(fault);
      apply_to_sensors(fault);
      apply_to_gas(fault);
      apply_to_flight_board(fault);
  }
}

void FaultSchedule::apply_to_lines(const Fault& fault) {
  switch (fault.kind) {
    case FaultKind::lost_frames:
      for_nodes(fault, [&](std::size_t n) { now_.to_host[n].lost_frame_probability = fault.number("probability"); });
      break;
    case FaultKind::garbage_bytes:
      for_nodes(fault, [&](std::size_t n) {
        now_.to_host[n].bursts_per_second = fault.number("bursts_per_second");
        now_.to_host[n].burst_bytes = fault.number("burst_bytes");
      });
      break;
    case FaultKind::bit_flips:
      for_nodes(fault, [&](std::size_t n) {
        if (fault.word("direction") != "to_board") now_.to_host[n].flip_probability = fault.number("probability");
        if (fault.word("direction") != "to_host") now_.to_board[n].flip_probability = fault.number("probability");
      });
      break;
    case FaultKind::rig_link_drop:
      now_.to_host[0].dead = now_.to_board[0].dead = true;
      break;
    case FaultKind::board_silent:
      for_nodes(fault, [&](std::size_t n) { now_.to_host[n].dead = now_.to_board[n].dead = true; });
      break;
    case FaultKind::protocol_newer_major:
      for_nodes(fault, [&](std::size_t n) { now_.to_host[n].newer_major = true; });
      break;
    case FaultKind::boards_swapped:
      now_.swapped = true;
      break;
    case FaultKind::wrong_firmware_identity:
      for_nodes(fault, [&](std::size_t n) { (n == 0 ? now_.rig_firmware : now_.flight_firmware) = fault.word("version"); });
      break;
    default:
      break;
  }
}

void FaultSchedule::apply_to_sensors(const Fault& fault) {
  switch (fault.kind) {
    case FaultKind::saturated_force:
      now_.sensors.force_rail_newtons = fault.number("rail_newtons");
      break;
    case FaultKind::frozen_force:
      now_.sensors.force_frozen = true;
      break;
    case FaultKind::saturated_acceleration:
      now_.sensors.axis_limit_mps2 = fault.number("range_g") * kG;
      break;
    case FaultKind::unplugged_sensor: {
      constexpr std::array<std::string_view, 4> kRig{"force", "supply_pressure", "chamber_pressure", "dummy_current"};
      const std::string channel = fault.word("channel");
      const auto* found = std::find(kRig.begin(), kRig.end(), std::string_view{channel});
      const double constant = fault.number("fraction_of_range");
      if (found == kRig.end())
        now_.sensors.acceleration_constant = constant;
      else
        now_.sensors.rig_constant[static_cast<std::size_t>(found - kRig.begin())] = constant;
      break;
    }
    default:
      break;
  }
}

void FaultSchedule::apply_to_gas(const Fault& fault) {
  switch (fault.kind) {
    case FaultKind::stuck_fast_valve:
      now_.physics.fast_shut[static_cast<std::size_t>(fault.number("valve")) - 1] = true;
      break;
    case FaultKind::fast_valve_stuck_open:
      now_.physics.fast_open[static_cast<std::size_t>(fault.number("valve")) - 1] = true;
      break;
    case FaultKind::hang:
      now_.physics.jammed = true;
      break;
    case FaultKind::slow_vent:
      now_.physics.vent_factor = fault.number("factor");
      break;
    case FaultKind::blocked_vent:
      now_.physics.vent_factor = 0.0;
      break;
    case FaultKind::leaking_reservoir:
      now_.physics.leak_conductance = fault.number("conductance_dm3_per_s_bar") * 1.0e-8;
      break;
    case FaultKind::regulator_creep:
      now_.physics.creep_kg_per_s = fault.number("litres_per_minute") * 1.185e-3 / 60.0;
      now_.physics.creep_lock_up_pascals = fault.number("lock_up_bar") * 1.0e5;
      break;
    case FaultKind::link_drop_at_separation:
      now_.physics.cable_drops = true;
      break;
    case FaultKind::detector_early:
      now_.physics.hammer_mps2 = fault.number("hammer_g") * kG;
      break;
    default:
      break;
  }
}

void FaultSchedule::apply_to_flight_board(const Fault& fault) {
  Scenario::Detector& detector = now_.detector;
  switch (fault.kind) {
    case FaultKind::armed_board:
      now_.armed = true;
      break;
    case FaultKind::continuity_present:
      now_.channel_ohms[static_cast<std::size_t>(fault.number("channel")) - 1] = fault.number("ohms");
      break;
    case FaultKind::wrong_dummy_load:
      now_.load_ohms = fault.number("ohms");
      break;
    case FaultKind::burnt_series_resistor:
      now_.series_ohms = fault.number("ohms");
      break;
    case FaultKind::detector_early:
    case FaultKind::detector_late:
      detector.kind = "sustained";
      detector.window_seconds = kTouchySeconds;
      detector.threshold_g = fault.number("threshold_g");
      detector.building_g = std::min(detector.building_g, detector.threshold_g);
      if (fault.kind == FaultKind::detector_late) detector.board_deadline_seconds = 0.0;
      break;
    case FaultKind::detector_never:
      detector.kind = "moving_mean";
      detector.window_seconds = fault.number("window_seconds");
      break;
    default:
      break;
  }
}

std::vector<std::string> FaultSchedule::names(int ejection) const {
  std::vector<std::string> out;
  for (std::size_t i = 0; i < states_.size(); ++i)
    if (states_[i].seen_in == ejection || states_[i].seen_before == ejection)
      out.emplace_back(row(scenario_.faults[i].kind).name);
  return out;
}

}  // namespace coldstroke::daq
