// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the interlocks look at, gathered from the two sessions, the live channels and the archive.
#include <algorithm>

#include "daq/bench/bench.hpp"

namespace coldstroke::daq {

namespace {

double age_of(std::optional<HostTime> then, HostTime now) { return then ? seconds_between(*then, now) : kNever; }

}  // namespace

Readings Bench::readings(HostTime now) const {
  Readings r;
  const BoardSide& rig = side(Node::rig);
  const BoardSide& flight = side(Node::flight);
  r.rig_compatible = rig.session.compatible();
  r.flight_compatible = flight.session.compatible();
  r.rig_age = age_of(rig.session.state_time(), now);
  r.flight_age = age_of(flight.session.state_time(), now);
  if (const auto& state = rig.session.rig_state()) {
    r.rig_inputs = state->inputs;
    r.rig_outputs = state->outputs;
    r.rig_readback = state->readback;
    r.rig_faults = state->faults;
  }
  if (const auto& state = flight.session.flight_state()) {
    r.armed_switch = state->armed_switch;
    r.milliohms = state->milliohms;
    r.detector_idle = state->detector == wire::DetectorState::idle;
  }
  if (const auto pressure = live_.pressure()) {
    r.pressure_pascals = *pressure;
    const auto newest = live_.newest(analysis::Role::supply_pressure);
    r.pressure_age = newest ? seconds_between(newest->time, now) : kNever;
    r.pressure_saturated = newest && newest->saturated;
  }
  r.pressure_slope = live_.pressure_slope().value_or(kNever);
  r.steady_seconds = age_of(steady_since_, now);
  if (!steady_since_) r.steady_seconds = 0.0;
  const auto trouble = recorder_.trouble();
  r.archive_writable = archive_trouble_.empty() && !trouble;
  r.archive_trouble = trouble ? trouble->what : archive_trouble_;
  r.alignment_uncertainty_seconds = alignment_.uncertainty(rig.session.exchanges(), flight.session.exchanges());
  if (keep_clear_until_) r.keep_clear_remaining_seconds = std::max(0.0, seconds_between(now, *keep_clear_until_));
  r.boards_restarted = rig.restarted_in_trial || flight.restarted_in_trial;
  r.judged = !judging_ && !read_back_.active();
  return r;
}

}  // namespace coldstroke::daq
