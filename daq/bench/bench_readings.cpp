// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the bench sees: boards, channels, archive and surroundings as the one value that the sequence judges.
#include <algorithm>
#include <cmath>
#include <set>

#include "daq/bench/bench.hpp"

namespace coldstroke::daq {

namespace {

double age_seconds(std::optional<HostTime> then, HostTime now) { return then ? seconds_between(*then, now) : kNever; }

std::string firmware(const NodeSession& session) {
  return session.identity() ? session.identity()->firmware_name + " " + session.identity()->firmware_version : std::string{};
}

}  // namespace

void Bench::read_boards(Readings& r, HostTime now) const {
  const BoardSide& rig = side(Node::rig);
  const BoardSide& flight = side(Node::flight);
  r.rig_compatible = rig.session.compatible();
  r.flight_compatible = flight.session.compatible();
  r.rig_age = age_seconds(rig.session.state_time(), now);
  r.flight_age = age_seconds(flight.session.state_time(), now);
  r.rig_firmware = firmware(rig.session);
  r.flight_firmware = firmware(flight.session);
  for (const wire::DetectorSetting& setting : flight.session.settings())
    r.detector_settings.emplace_back(setting.key, setting.value);
  r.rig_restarted = rig.restarted_in_trial;
  r.flight_restarted = flight.restarted_in_trial;
  r.rig_vented_itself = rig.restarted_in_trial || rig_vented_itself();
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
    r.playback = state->playback != 0;
  }
}

/// The board says vented where this trial had it hold gas.
bool Bench::rig_vented_itself() const {
  const auto& state = side(Node::rig).session.rig_state();
  const bool holds = step_ == Step::charging || step_ == Step::settling || step_ == Step::counting || step_ == Step::releasing;
  return holds && rig_held_gas_ && state && state->step == wire::RigStep::vented;
}

void Bench::read_pressure(Readings& r, HostTime now) const {
  if (const auto pressure = live_.pressure()) {
    r.pressure_pascals = *pressure;
    const auto newest = live_.newest(analysis::Role::supply_pressure);
    r.pressure_age = newest ? seconds_between(newest->time, now) : kNever;
    r.pressure_saturated = newest && newest->saturated;
  }
  r.channels = live_.health(now);
  const auto& channels = options_.setup.channels;
  for (std::size_t c = 0; c < channels.size(); ++c)
    if (channels[c].role == analysis::Role::supply_pressure) r.pressure_frozen = r.channels[c].frozen;
  if (const auto chamber = live_.newest(analysis::Role::chamber_pressure);
      chamber && !chamber->saturated && seconds_between(chamber->time, now) <= options_.setup.link_fresh_seconds)
    r.chamber_pascals = chamber->value;
  r.dummy_load_amperes = live_.largest(analysis::Role::dummy_load_current);
  r.pressure_slope = live_.pressure_slope().value_or(kNever);
  r.steady_seconds = steady_since_ ? seconds_between(*steady_since_, now) : 0.0;
  r.low_seconds = low_since_ ? seconds_between(*low_since_, now) : 0.0;
  if (vent_start_ && vent_start_->running)
    r.vent_down = VentDown{seconds_between(vent_start_->time, now) - r.pressure_age, vent_start_->pascals};
  r.motion_seen = live_.motion_seen();
}

/// What a trial of the longest kind writes at the described rates, twice over (the write-ahead log), and a reserve.
std::uint64_t Bench::archive_needed_bytes() const {
  constexpr double kReserve = 32.0e6, kFraming = 1.25, kUnknownBytesPerSecond = 200.0e3;
  double bytes_per_second = 0.0;
  std::set<std::pair<Node, int>> counted;
  for (const ChannelSetup& channel : options_.setup.channels) {
    if (!counted.insert({channel.node, channel.stream}).second) continue;
    const auto* stream = side(channel.node).session.stream(channel.stream);
    bytes_per_second +=
        stream == nullptr || stream->period_ns == 0
            ? kUnknownBytesPerSecond
            : kFraming * stream->bits / 8.0 * static_cast<double>(stream->channels.size()) * 1.0e9 / stream->period_ns;
  }
  const SequenceSetup& q = options_.setup.sequence;
  const double seconds = q.charge_limit_seconds + options_.setup.charge.settle_seconds + q.countdown_seconds +
                         q.record_after_seconds + q.vent_limit_seconds + q.readback_limit_seconds;
  return static_cast<std::uint64_t>(kReserve + 2.0 * seconds * bytes_per_second);
}

Readings Bench::readings(HostTime now) const {
  Readings r;
  read_boards(r, now);
  read_pressure(r, now);
  const auto trouble = recorder_.trouble();
  r.archive_writable = archive_trouble_.empty() && !trouble;
  r.archive_trouble = trouble ? trouble->what : archive_trouble_;
  r.archive_needed_bytes = archive_needed_bytes();
  r.surroundings = surroundings_;
  r.signatures = signatures_;
  r.typed_target_pascals = typed_target_;
  r.bypasses = bypasses_;
  r.alignment_uncertainty_seconds = alignment_.uncertainty(
      side(Node::rig).session.exchanges(), side(Node::flight).session.exchanges(), line_knowledge(options_.setup));
  if (keep_clear_until_) r.keep_clear_remaining_seconds = std::max(0.0, seconds_between(now, *keep_clear_until_));
  r.judged = !judging_ && !read_back_.active();
  r.gas_refused = gas_refused_;
  r.deadline_passed = deadline_ && now >= *deadline_;
  r.lid_due = step_ == Step::recording && options_.setup.lid && want_lid_open_.value_or(false) &&
              now >= seconds_later(entered_, options_.setup.lid->shut_after_seconds);
  return r;
}

}  // namespace coldstroke::daq
