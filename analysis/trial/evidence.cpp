// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/evidence.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "analysis/pneumatics/stroke_model.hpp"
#include "analysis/signal/delay.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kLeastNetG = 0.5;  // an ejection pushes harder than this; drift of a cell does not
constexpr double kLongestLagShare = 0.1;
constexpr double kMarginSeconds = 5.0e-3;  // around the stroke, for lost and clipped samples

std::string number(double value, const char* unit) {
  char text[64];
  std::snprintf(text, sizeof text, "%.4g %s", value, unit);
  return text;
}

Result<Channel, Miss> channel_of(const TraceSet& traces, Role role, const char* what) {
  const Trace* trace = find(traces, role);
  if (trace == nullptr) return tl::unexpected<Miss>{Miss{"no_channel", std::string{"no "} + what + " was recorded"}};
  return Channel::make(*trace);
}

/// Time to the apex a m/s.
double flight_per_speed(const TrialSetup& setup) { return std::cos(setup.tilt_radians) / kStandardGravity; }

StrokeSearch force_search(const TraceSet& traces, const TrialSetup& setup) {
  const double mass = moved_mass_kg(setup);
  StrokeSearch q;
  // Without a mass the push of half a g is unknown; five newtons keep the drift of a cell from counting as a stroke.
  q.least_net_peak = mass > 0.0 ? kLeastNetG * kStandardGravity * mass : 5.0;
  q.natural_frequency_hz = setup.force_cell_natural_frequency_hz;
  // A cell of unknown frequency shows an edge late by up to half a period; 2 kHz is an ordinary one, 0.2 ms its whole lag.
  if (!(q.natural_frequency_hz > 0.0)) q.lag_standard_uncertainty_seconds = 0.2e-3 / std::sqrt(12.0);
  // The piston's stop gives its own share back; only more than half of the rest on top of it is the vehicle's.
  if (setup.force_cell == ForceCell::reaction && mass > 0.0) q.returned_share = 0.5 + 0.5 * setup.moving_rig_mass_kg / mass;
  q.flight_level = -std::max(setup.vehicle_mass_kg, 0.0) * kStandardGravity * std::cos(setup.tilt_radians);
  q.quiet_until_seconds = traces.release_commanded_seconds;
  q.flight_seconds_per_area = mass > 0.0 ? flight_per_speed(setup) / mass : 0.0;
  return q;
}

StrokeSearch acceleration_search(const TraceSet& traces, const TrialSetup& setup) {
  StrokeSearch q;
  q.least_net_peak = kLeastNetG * kStandardGravity;
  const AccelerometerLag lag = accelerometer_lag(setup);
  q.lag_seconds = lag.seconds;
  q.shortest_lag_seconds = std::max(0.0, lag.seconds - std::sqrt(3.0) * lag.standard_uncertainty);
  q.flight_level = -kStandardGravity * std::cos(setup.tilt_radians);
  q.quiet_until_seconds = traces.release_commanded_seconds;
  q.flight_seconds_per_area = flight_per_speed(setup);
  return q;
}

void look(Witness& witness, const StrokeSearch& search, Evidence& out) {
  if (!witness.channel) return;
  witness.stroke = find_stroke(*witness.channel, search);
  const std::string& name = witness.channel->trace().name;
  if (!witness.stroke) {
    out.findings.push_back({witness.stroke.error().kind, name, witness.stroke.error().reason + "."});
    return;
  }
  const StrokeWindow& w = *witness.stroke;
  if (w.other_pulse_seconds)
    out.findings.push_back({"two_pulses", name,
                            "A second pulse like an ejection begins at " + number(*w.other_pulse_seconds, "s") +
                                "; the metrics are those of the first."});
  if (!w.abrupt)
    out.findings.push_back(
        {"faded_out", name,
         "The pulse fades out without the fall of a vehicle leaving; its end was extrapolated, so look at the trace."});
}

/// A lag small against the stroke sits in samples and instants alike and cancels to its square; a longer one hides the stroke.
void refuse_slow(Evidence& out, const AccelerometerLag& lag) {
  if (!out.acceleration.usable()) return;
  const StrokeWindow& w = out.force.usable() ? *out.force.stroke : *out.acceleration.stroke;
  const double stroke = w.separation.seconds - w.first_motion.seconds;
  if (lag.seconds <= kLongestLagShare * stroke) return;
  const std::string reason = "the accelerometer's lag of " + number(lag.seconds * 1.0e3, "ms") +
                             " is more than a tenth of the stroke's " + number(stroke * 1.0e3, "ms");
  const std::string& name = out.acceleration.channel->trace().name;
  out.findings.push_back({"slow_accelerometer", name, "T" + reason.substr(1) + ": no metric is made of this trace."});
  out.acceleration.stroke = tl::unexpected<Miss>{Miss{"slow_accelerometer", reason}};
}

/// On the time line, as it happened to the vehicle.
Instant placed(const Instant& instant, const Channel& channel, const AccelerometerLag& lag) {
  const double alignment = channel.trace().alignment_standard_uncertainty_seconds;
  if (channel.trace().role != Role::vehicle_acceleration)
    return {instant.seconds, std::hypot(instant.standard_uncertainty, alignment), instant.spread};
  return {instant.seconds - lag.seconds, std::hypot(instant.standard_uncertainty, alignment, lag.standard_uncertainty),
          instant.spread};
}

void agree_on_instants(Evidence& out, const AccelerometerLag& lag) {
  const Witness* witness = out.force.usable() ? &out.force : out.acceleration.usable() ? &out.acceleration : nullptr;
  if (witness == nullptr) {
    out.no_stroke = out.force.channel          ? out.force.why_not()
                    : out.acceleration.channel ? out.acceleration.why_not()
                                               : "neither force nor acceleration can be used";
    return;
  }
  out.from_acceleration = witness == &out.acceleration;
  out.first_motion = placed(witness->stroke->first_motion, *witness->channel, lag);
  out.separation = placed(witness->stroke->separation, *witness->channel, lag);
}

std::string apart_sentence(const char* what, double apart, double allowed) {
  return std::string{what} + " in the acceleration is " + number(apart * 1.0e3, "ms") +
         " from that in the force, more than the " + number(allowed * 1.0e3, "ms") + " that the alignment of the clocks allows.";
}

/// By how much the whole pulse is later in the acceleration than in the force, by cross-correlation, its lag taken off; and what
/// that is worth. Nothing where the two do not look alike.
std::optional<Instant> pulse_apart(const Evidence& e, const AccelerometerLag& lag) {
  const Channel &force = *e.force.channel, &acceleration = *e.acceleration.channel;
  constexpr double kRoomSeconds = 5.0e-3, kSearchSeconds = 50.0e-3;
  constexpr double kSlowest = 100.0;  // rates further apart than this share no shape worth the averaging
  if (acceleration.period() > kSlowest * force.period()) return std::nullopt;
  const double from = e.force.stroke->first_motion.seconds - kRoomSeconds, to = e.force.stroke->separation.seconds;
  const std::size_t first = acceleration.at_or_after(from - kSearchSeconds), last = acceleration.at_or_after(to + kSearchSeconds);
  const auto aligned = align_on_pulse({force.values(), force.seconds(0.0), force.period()}, from, to,
                                      {acceleration.values().subspan(first, last - first),
                                       acceleration.seconds(static_cast<double>(first)), acceleration.period()});
  if (!aligned) return std::nullopt;
  return Instant{-aligned->shift_seconds - lag.seconds,
                 std::hypot(aligned->standard_uncertainty_seconds, lag.standard_uncertainty,
                            acceleration.trace().alignment_standard_uncertainty_seconds),
                 Spread::normal};
}

/// Why the two traces cannot check the clocks; empty: they can.
std::string why_unchecked(const Evidence& e, const std::string& alignment_method) {
  if (alignment_method == kSharedPulse) return "the shared pulse itself aligned them";
  for (const Witness* witness : {&e.force, &e.acceleration}) {
    if (!witness->usable()) return witness->why_not();
    const StrokeWindow& w = *witness->stroke;
    const std::string& name = witness->channel->trace().name;
    if (!w.abrupt) return "the pulse in " + name + " fades out";
    // A flat top is another shape, and so is the fall from it.
    if (witness->channel->saturated_between(w.first_motion.seconds, w.separation.seconds) > 0)
      return "the pulse in " + name + " is clipped";
  }
  return {};
}

/// The same separation, and the same pulse, seen by two boards: a check of the clocks that needs nothing but the two traces.
ClockCheck checked_clocks(const Evidence& out, const AccelerometerLag& lag, const std::string& alignment_method) {
  using enum ClockCheck::Answer;
  if (std::string why = why_unchecked(out, alignment_method); !why.empty()) return {not_made, std::move(why)};
  const Instant a = placed(out.force.stroke->separation, *out.force.channel, lag);
  const Instant b = placed(out.acceleration.stroke->separation, *out.acceleration.channel, lag);
  const double apart = b.seconds - a.seconds, allowed = 3.0 * std::hypot(a.standard_uncertainty, b.standard_uncertainty);
  if (std::abs(apart) > allowed) return {disagree, apart_sentence("Separation", apart, allowed)};
  const auto pulse = pulse_apart(out, lag);
  if (!pulse) return {agree, "separation is at the same instant in force and acceleration"};
  if (std::abs(pulse->seconds) > 3.0 * pulse->standard_uncertainty)
    return {disagree, apart_sentence("The pulse", pulse->seconds, 3.0 * pulse->standard_uncertainty)};
  return {agree, "separation and the whole pulse are at the same instants in force and acceleration"};
}

void compare_clocks(Evidence& out, const AccelerometerLag& lag, const std::string& alignment_method) {
  out.clocks = checked_clocks(out, lag, alignment_method);
  if (!out.acceleration.channel || !out.force.channel) return;  // one trace: nothing to compare, and nothing to align
  const std::string& name = out.acceleration.channel->trace().name;
  if (out.clocks.answer == ClockCheck::Answer::disagree)
    out.findings.push_back({"clock_disagreement", name, out.clocks.words});
  else if (out.clocks.answer == ClockCheck::Answer::not_made && out.first_motion)
    out.findings.push_back({"clocks_not_checked", name,
                            "Force and acceleration do not check the clocks' alignment, since " + out.clocks.words +
                                "; it rests on what the link says of itself."});
}

void note_rest(Evidence& out, const Witness& witness, double expected, double tolerance, const char* unit, const char* remedy) {
  if (!witness.usable() || !(std::abs(witness.stroke->rest - expected) > tolerance)) return;
  out.findings.push_back({"rest_reading", witness.channel->trace().name,
                          "At rest the reading is " + number(witness.stroke->rest, unit) + " where " + number(expected, unit) +
                              " was expected; the change from rest is used. " + remedy});
}

void compare_rest(Evidence& out, const TrialSetup& setup) {
  const double weight = setup.vehicle_mass_kg * kStandardGravity * std::cos(setup.tilt_radians);
  if (out.force.usable()) {
    const double expected = setup.force_tare == ForceTare::empty ? weight : 0.0;
    const double doubt =
        4.0 * std::hypot(out.force.channel->trace().zero_standard_uncertainty, out.force.stroke->rest_standard_uncertainty);
    note_rest(out, out.force, expected, doubt + 0.5 * std::abs(weight), "N", "Check the tare named in the setup.");
  }
  if (out.acceleration.usable()) {
    const double doubt = 4.0 * std::hypot(out.acceleration.channel->trace().zero_standard_uncertainty,
                                          out.acceleration.stroke->rest_standard_uncertainty);
    note_rest(out, out.acceleration, kStandardGravity * std::cos(setup.tilt_radians), doubt + 0.1 * kStandardGravity, "m/s2",
              "Check the axis and the calibration of the accelerometer.");
  }
}

void note_quality(const Channel& channel, const char* lost_means, Evidence& out) {
  const Trace& trace = channel.trace();
  const double from = out.first_motion ? out.first_motion->seconds - kMarginSeconds : channel.seconds(0.0);
  const double to =
      out.separation ? out.separation->seconds + kMarginSeconds : channel.seconds(static_cast<double>(channel.size()));
  if (const std::size_t lost = channel.lost_between(from, to); lost > 0)
    out.findings.push_back(
        {"lost_samples", trace.name, std::to_string(lost) + " samples were lost in or near the stroke; " + lost_means});
  // To separation only: the piston's stop may well clip a cell, and nothing is read from it.
  if (const std::size_t clipped = channel.saturated_between(from, out.separation ? out.separation->seconds : to); clipped > 0)
    out.findings.push_back(
        {"saturated", trace.name,
         std::to_string(clipped) + " samples are at the end of the range in the stroke: peaks are at least what is shown."});
}

}  // namespace

double moved_mass_kg(const TrialSetup& setup) {
  return setup.vehicle_mass_kg +
         (setup.force_cell == ForceCell::reaction ? setup.moving_rig_mass_kg : setup.front_hardware_mass_kg);
}

AccelerometerLag accelerometer_lag(const TrialSetup& setup) {
  if (!setup.accelerometer_lag_seconds) return {};
  return {*setup.accelerometer_lag_seconds, setup.accelerometer_lag_standard_uncertainty_seconds, Spread::normal};
}

std::vector<const Channel*> used_channels(const Evidence& e) {
  std::vector<const Channel*> out;
  for (const Result<Channel, Miss>* channel : {&e.force.channel, &e.supply, &e.chamber, &e.acceleration.channel})
    if (*channel) out.push_back(&**channel);
  for (const Channel& channel : e.lateral) out.push_back(&channel);
  for (const Channel& channel : e.tilt_rates) out.push_back(&channel);
  return out;
}

Evidence gather(const TraceSet& traces, const TrialSetup& setup) {
  Evidence out;
  out.force.channel = channel_of(traces, Role::force, "force");
  out.acceleration.channel = channel_of(traces, Role::vehicle_acceleration, "vehicle acceleration");
  out.supply = channel_of(traces, Role::supply_pressure, "supply pressure");
  out.chamber = channel_of(traces, Role::chamber_pressure, "chamber pressure");
  const auto note_unusable = [&](const Result<Channel, Miss>& channel, Role role) {
    if (!channel && channel.error().kind != "no_channel")
      out.findings.push_back(
          {channel.error().kind, find(traces, role)->name, channel.error().reason + "; this trace is not used."});
  };
  const auto take = [&](Role role, const char* what, std::vector<Channel>& into, std::string& why) {
    auto channel = channel_of(traces, role, what);
    note_unusable(channel, role);
    if (channel)
      into.push_back(std::move(*channel));
    else if (why.empty() || channel.error().kind != "no_channel")
      why = channel.error().reason;
  };
  note_unusable(out.force.channel, Role::force);
  note_unusable(out.acceleration.channel, Role::vehicle_acceleration);
  note_unusable(out.supply, Role::supply_pressure);
  note_unusable(out.chamber, Role::chamber_pressure);
  for (const Role role : {Role::lateral_acceleration, Role::second_lateral_acceleration})
    take(role, "lateral acceleration", out.lateral, out.no_lateral);
  for (const Role role : {Role::tilt_rate, Role::second_tilt_rate}) take(role, "tilt rate", out.tilt_rates, out.no_tilt_rate);
  look(out.force, force_search(traces, setup), out);
  look(out.acceleration, acceleration_search(traces, setup), out);
  refuse_slow(out, accelerometer_lag(setup));
  agree_on_instants(out, accelerometer_lag(setup));
  for (const Result<Channel, Miss>* channel : {&out.force.channel, &out.acceleration.channel, &out.supply, &out.chamber})
    if (*channel) note_quality(**channel, "straight lines bridge them and the uncertainty is wider.", out);
  for (const Channel& channel : out.lateral) note_quality(channel, "the peak across the tube is at least what is shown.", out);
  for (const Channel& channel : out.tilt_rates) note_quality(channel, "no turn is made of it.", out);
  compare_clocks(out, accelerometer_lag(setup), traces.alignment_method);
  compare_rest(out, setup);
  return out;
}

}  // namespace coldstroke::analysis
