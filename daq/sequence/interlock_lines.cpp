// SPDX-License-Identifier: GPL-3.0-or-later
//
// What each interlock reads, what it wants, and what to do about it.
#include "daq/sequence/interlock_lines.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "protocol/wire/message.hpp"

namespace coldstroke::daq {

namespace {

/// Within this share of its registered resistance a dummy load is taken for itself (safety reference: registered value +-10 %).
constexpr double kDummyLoadTolerance = 0.10;
/// A firing-channel reading older than this counts as absent (the owner's rule: fresh to 500 ms).
constexpr double kFiringFreshSeconds = 0.5;
/// Current through a dummy load above this is a channel that fires. Far above a current sensor's noise and zero error, far below
/// what a load of any use draws [practice].
constexpr double kFiringAmperes = 0.1;

std::string text(const char* format, double a, double b = 0.0) {
  std::array<char, 128> buffer{};
  std::snprintf(buffer.data(), buffer.size(), format, a, b);
  return buffer.data();
}

/// Never "-0.00 bar": adding zero to a negative zero makes it a plain one.
std::string bar(double pascals) { return text("%.2f bar", std::round(pascals / 1.0e3) / 100.0 + 0.0); }

std::string age(double seconds) { return std::isinf(seconds) ? "no frame yet" : text("%.0f ms old", seconds * 1000.0); }

std::string milliseconds(double seconds) { return text("at most %.0f ms old", seconds * 1000.0); }

bool rig_fresh(const Readings& r, const Setup& s) { return r.rig_age <= s.link_fresh_seconds; }
bool flight_fresh(const Readings& r, const Setup& s) { return r.flight_age <= s.link_fresh_seconds; }

bool channel_safe(const FiringChannel& declared, std::uint32_t milliohms) {
  if (!declared.dummy_load) return milliohms == wire::kOpenCircuit;
  if (milliohms == wire::kOpenCircuit) return false;
  const double registered = 1000.0 * declared.ohms;  // compared in the board's own unit, so that the limit itself still holds
  return std::abs(milliohms - registered) <= kDummyLoadTolerance * registered + 0.01;
}

bool every_channel_on_dummy(const Setup& setup) {
  return !setup.firing_channels.empty() && std::ranges::all_of(setup.firing_channels, [](const auto& c) { return c.dummy_load; });
}

bool fires(const Readings& r) { return r.detector_idle && r.dummy_load_amperes.value_or(0.0) > kFiringAmperes; }

Interlock from_rig(const Readings& r, const Setup& s, const char* name, std::string reading, std::string limit,
                   const char* remedy, bool holds) {
  return {
      name, std::move(reading), std::move(limit), remedy, holds && rig_fresh(r, s), rig_fresh(r, s), s.link_fresh_seconds, false,
      {}};
}

Interlock from_flight(const Readings& r, const Setup& s, const char* name, std::string reading, const char* limit,
                      const char* remedy, bool holds) {
  return {name, std::move(reading), limit, remedy, holds && flight_fresh(r, s), flight_fresh(r, s), s.link_fresh_seconds, false,
          {}};
}

Interlock from_pressure(const Readings& r, const Setup& s, const char* name, std::string reading, std::string limit,
                        const char* remedy, bool holds) {
  if (r.pressure_saturated) reading += ", at the end of its range";
  if (r.pressure_frozen) reading += ", frozen";
  const bool known = pressure_known(r, s);
  return {name, std::move(reading), std::move(limit), remedy, holds && known, known, s.link_fresh_seconds, false, {}};
}

Interlock always_known(const char* name, std::string reading, std::string limit, const char* remedy, bool holds) {
  return {name, std::move(reading), std::move(limit), remedy, holds, true, kNever, false, {}};
}

std::string valve_words(std::uint16_t readback) {
  std::string out;
  const auto word = [&](std::uint16_t bit, const char* name) {
    if ((readback & bit) != 0) out += (out.empty() ? "open: " : ", ") + std::string{name};
  };
  word(wire::kChargeValve, "charge");
  word(wire::kVentValve, "vent");
  word(wire::kFastValve1, "fast 1");
  word(wire::kFastValve2, "fast 2");
  return out.empty() ? "all shut" : out;
}

Interlock valves(const Readings& r, const Setup& s, std::uint16_t expected, const char* words) {
  // on hand valves only the fast ones are the board's; the others are proven by the pressure
  const std::uint16_t ours = s.charge_valves == ChargeValves::hand
                                 ? wire::kFastValve1 | wire::kFastValve2
                                 : wire::kChargeValve | wire::kVentValve | wire::kFastValve1 | wire::kFastValve2;
  const bool ok = (r.rig_readback & ours) == (expected & ours) && (r.rig_outputs & ours) == (expected & ours);
  return from_rig(r, s, "valve read-back", valve_words(r.rig_readback & ours),
                  s.charge_valves == ChargeValves::hand ? "fast valves shut" : words,
                  "vent; look at the valve that does not follow", ok);
}

}  // namespace

bool pressure_known(const Readings& r, const Setup& s) {
  return r.pressure_age <= s.link_fresh_seconds && !r.pressure_saturated && !r.pressure_frozen;
}

bool proven_low(const Readings& r, const Setup& s) {
  const bool has_chamber = s.channel(analysis::Role::chamber_pressure) != nullptr;
  const bool chamber_low = !has_chamber || (r.chamber_pascals && *r.chamber_pascals < s.sequence.vented_below_pascals);
  return pressure_known(r, s) && r.pressure_pascals < s.sequence.vented_below_pascals && chamber_low;
}

bool live_channel(const Readings& r, const Setup& s) {
  if (r.flight_age > kFiringFreshSeconds || r.milliohms.empty()) return false;
  if (r.armed_switch && !every_channel_on_dummy(s)) return true;
  if (r.milliohms.size() != s.firing_channels.size()) return true;
  if (fires(r)) return true;
  // a dummy load that came off is an open interlock; a live channel only while the board is armed for it
  for (std::size_t k = 0; k < s.firing_channels.size(); ++k)
    if ((r.armed_switch || r.milliohms[k] != wire::kOpenCircuit) && !channel_safe(s.firing_channels[k], r.milliohms[k]))
      return true;
  return false;
}

std::string firing_sentence(const Readings& r, const Setup& s) {
  if (r.milliohms.empty()) return "not read yet";
  std::string out = r.armed_switch ? "ARMED" : "safe";
  if (fires(r)) out += text(", %.2f A flow without a decision", *r.dummy_load_amperes);
  if (r.milliohms.size() != s.firing_channels.size())
    return out + text(", board has %.0f channels, setup declares %.0f", static_cast<double>(r.milliohms.size()),
                      static_cast<double>(s.firing_channels.size()));
  std::size_t open = 0;
  for (std::size_t k = 0; k < r.milliohms.size(); ++k) {
    if (r.milliohms[k] == wire::kOpenCircuit) {
      ++open;
      continue;
    }
    out += text(", channel %.0f reads %.2f ohm", static_cast<double>(k + 1), r.milliohms[k] / 1000.0);
  }
  return out + text(", %.0f of %.0f open", static_cast<double>(open), static_cast<double>(r.milliohms.size()));
}

std::string fault_words(std::uint16_t faults) {
  std::string out;
  const auto word = [&](std::uint16_t bit, const char* what) {
    if ((faults & bit) != 0) out += (out.empty() ? "" : ", ") + std::string{what};
  };
  word(wire::kFaultWatchdog, "host heartbeat was lost");
  word(wire::kFaultOverPressure, "over-pressure");
  word(wire::kFaultStopLoop, "stop loop opened");
  word(wire::kFaultReadback, "a valve did not follow");
  word(wire::kFaultSupply, "electrical supply low");
  return out;
}

namespace lines {

std::optional<Interlock> rig_link(const Readings& r, const Setup& s) {
  Interlock line = from_rig(r, s, "rig link", age(r.rig_age), milliseconds(s.link_fresh_seconds),
                            "check the rig board's cable and port name", r.rig_compatible);
  line.fresh = true;  // the age is the reading
  return line;
}

std::optional<Interlock> flight_link(const Readings& r, const Setup& s) {
  if (s.flight_records_by_itself) return std::nullopt;
  Interlock line = always_known("flight link", age(r.flight_age), milliseconds(s.link_fresh_seconds),
                                "connect the flight board's cable", r.flight_compatible && flight_fresh(r, s));
  line.fresh_seconds = s.link_fresh_seconds;
  return line;
}

std::optional<Interlock> stop_loop(const Readings& r, const Setup& s) {
  const bool closed = (r.rig_inputs & wire::kStopLoopClosed) != 0;
  return from_rig(r, s, "emergency-stop loop", closed ? "closed" : "open", "closed",
                  "release every emergency stop, then abort once to clear the fault", closed);
}

std::optional<Interlock> release_key(const Readings& r, const Setup& s) {
  const bool in = (r.rig_inputs & wire::kReleaseKeyIn) != 0;
  return from_rig(r, s, "release key", in ? "in" : "out", "in", "the last person out puts the release key in", in);
}

std::optional<Interlock> lid_open(const Readings& r, const Setup& s) {
  if (!s.lid) return std::nullopt;
  const bool open = (r.rig_inputs & wire::kLidOpenSwitch) != 0, shut = (r.rig_inputs & wire::kLidShutSwitch) != 0;
  const char* reading = open && shut ? "both switches on" : open ? "open" : shut ? "shut" : "between";
  return from_rig(r, s, "lid", reading, "open, by its own switch", "wait for the lid; then look at its drive and switches",
                  open && !shut);
}

std::optional<Interlock> firing_channels(const Readings& r, const Setup& s) {
  const bool fresh = r.flight_age <= kFiringFreshSeconds;
  bool safe = fresh && !fires(r) && r.milliohms.size() == s.firing_channels.size();
  for (std::size_t k = 0; safe && k < s.firing_channels.size(); ++k) safe = channel_safe(s.firing_channels[k], r.milliohms[k]);
  if (r.armed_switch && !every_channel_on_dummy(s)) safe = false;
  return Interlock{"firing channels",
                   firing_sentence(r, s),
                   every_channel_on_dummy(s) ? "each on its registered dummy load" : "as registered, arm switch at safe",
                   "nobody goes near from the front; find what is connected, remove it",
                   safe,
                   fresh,
                   kFiringFreshSeconds,
                   false,
                   {}};
}

std::optional<Interlock> detector(const Readings& r, const Setup& s) {
  return from_flight(r, s, "detector", r.detector_idle ? "idle" : "not idle", "idle",
                     "abort, find out what it reacted to: a decision before release would have started a motor", r.detector_idle);
}

std::optional<Interlock> no_playback(const Readings& r, const Setup& s) {
  return from_flight(r, s, "playback", r.playback ? "ON: the detector hears a recording" : "off", "off",
                     "end the playback; restart the flight board if it stays on", !r.playback);
}

std::optional<Interlock> boards_kept_running(const Readings& r, const Setup&) {
  const char* reading = r.rig_restarted      ? "the rig board started anew"
                        : r.flight_restarted ? "the flight board started anew"
                                             : "yes";
  return always_known("boards kept running", reading, "since the trial began",
                      "abort and begin again; find out why its supply dipped", !r.rig_restarted && !r.flight_restarted);
}

std::optional<Interlock> board_faults(const Readings& r, const Setup& s) {
  return from_rig(r, s, "rig board faults", r.rig_faults == 0 ? "none" : fault_words(r.rig_faults), "none",
                  "clear the cause, then abort once to clear the fault", r.rig_faults == 0);
}

std::optional<Interlock> valves_before_charge(const Readings& r, const Setup& s) {
  const bool from_vented = (r.rig_outputs & wire::kVentValve) != 0;
  return from_vented ? valves(r, s, wire::kVentValve, "only the vent open") : valves(r, s, 0, "all shut");
}

std::optional<Interlock> valves_all_shut(const Readings& r, const Setup& s) { return valves(r, s, 0, "all shut"); }

std::optional<Interlock> below_maximum(const Readings& r, const Setup& s) {
  return from_pressure(r, s, "pressure below maximum", bar(r.pressure_pascals), "below " + bar(s.charge.maximum_pascals),
                       "vent; find why the regulator went over, or why the sensor is not alive",
                       r.pressure_pascals < s.charge.maximum_pascals);
}

std::optional<Interlock> charge_window(const Readings& r, const Setup& s) {
  const double p = r.pressure_pascals;
  return from_pressure(
      r, s, "charge window", bar(p), text("%.2f to %.2f bar", s.charge.low_pascals / 1.0e5, s.charge.high_pascals / 1.0e5),
      p < s.charge.low_pascals ? "top up" : "abort and start again", p >= s.charge.low_pascals && p <= s.charge.high_pascals);
}

std::optional<Interlock> steady(const Readings& r, const Setup& s) {
  return from_pressure(r, s, "pressure steady",
                       text("%+.3f bar/s for %.1f s", std::round(r.pressure_slope / 1.0e2) / 1.0e3 + 0.0, r.steady_seconds),
                       text("within %.3f bar/s for %.1f s", s.charge.steady_pascals_per_second / 1.0e5, s.charge.settle_seconds),
                       "wait; if it keeps falling look for a leak, if it rises the regulator creeps or a hand valve is open",
                       r.steady_seconds >= s.charge.settle_seconds);
}

std::optional<Interlock> pressure_low(const Readings& r, const Setup& s) {
  std::string reading = bar(r.pressure_pascals);
  if (s.channel(analysis::Role::chamber_pressure) != nullptr)
    reading += r.chamber_pascals ? ", chamber " + bar(*r.chamber_pascals) : ", chamber not known";
  return from_pressure(r, s, "pressure proven low", reading, "below " + bar(s.sequence.vented_below_pascals),
                       "leave the vent open; read the gauge at the vessel", proven_low(r, s));
}

std::optional<Interlock> channels_alive(const Readings& r, const Setup& s) {
  std::string bad;
  for (std::size_t c = 0; c < s.channels.size(); ++c) {
    if (s.flight_records_by_itself && s.channels[c].node == Node::flight) continue;
    const ChannelHealth health = c < r.channels.size() ? r.channels[c] : ChannelHealth{};
    const char* what = health.age > s.link_fresh_seconds ? "is silent"
                       : health.frozen                   ? "is frozen"
                       : health.saturated                ? "is at the end of its range"
                                                         : nullptr;
    if (what == nullptr) continue;
    bad += (bad.empty() ? "" : ", ") + s.channels[c].name + " " + what;
    const analysis::WireState wire = s.channels[c].wire(health.mean);
    if (health.saturated && wire != analysis::WireState::good) bad += std::string{" ("} + word(wire) + ")";
  }
  Interlock line = always_known("channels alive", bad.empty() ? "all" : bad, "none silent, frozen or at the end of its range",
                                "check the sensor's plug and supply; a frozen reading proves nothing", bad.empty());
  line.fresh_seconds = s.link_fresh_seconds;
  return line;
}

std::optional<Interlock> channels_at_rest(const Readings& r, const Setup& s) {
  // a top-up starts from a charged reservoir: then nothing is at rest and nothing is judged
  if ((r.rig_outputs & wire::kVentValve) == 0 && r.pressure_pascals >= s.sequence.vented_below_pascals) return std::nullopt;
  std::string bad;
  for (std::size_t c = 0; c < s.channels.size(); ++c) {
    const ChannelSetup& channel = s.channels[c];
    if (s.flight_records_by_itself && channel.node == Node::flight) continue;
    const ChannelHealth health = c < r.channels.size() ? r.channels[c] : ChannelHealth{};
    const bool zero =
        (channel.rest_low && health.mean < *channel.rest_low) || (channel.rest_high && health.mean > *channel.rest_high);
    const bool noisy = channel.noise_max && health.noise > *channel.noise_max;
    if (zero || noisy)
      bad += (bad.empty() ? "" : ", ") + channel.name +
             text(zero ? " reads %.4g" : " scatters by %.4g", zero ? health.mean : health.noise);
  }
  return always_known("channels at rest", bad.empty() ? "all" : bad, "each within its rest bounds and noise (SI units)",
                      "seat the vehicle, wait until all is still; else compare with a known load or the gauge", bad.empty());
}

std::optional<Interlock> calibration(const Readings& r, const Setup& s) {
  std::string bad;
  for (const ChannelSetup& channel : s.channels) {
    const std::string& until = channel.calibration.valid_until;
    if (!r.surroundings.today.empty() && !until.empty() && until >= r.surroundings.today) continue;  // ISO dates sort as text
    bad += (bad.empty() ? "" : ", ") + channel.name + (until.empty() ? " has no date" : " valid until " + until);
  }
  if (r.surroundings.today.empty()) bad = "today's date is not known";
  return always_known("calibration", bad.empty() ? "all in date" : bad, "in force and in date for every channel",
                      "calibrate, or give the date in the setup (valid_until)", bad.empty());
}

std::optional<Interlock> declared(const Readings& r, const Setup& s) {
  std::string bad;
  const auto compare = [&](const std::string& what, const std::string& wanted, const std::string& is) {
    if (wanted.empty() || wanted == is) return;
    bad += (bad.empty() ? "" : ", ") + what + (is.empty() ? " not told" : " is \"" + is + "\"") + ", declared \"" + wanted + "\"";
  };
  compare("rig firmware", s.declared.rig_firmware, r.rig_firmware);
  compare("flight firmware", s.declared.flight_firmware, r.flight_firmware);
  for (const auto& [key, value] : s.declared.detector_settings) {
    const auto found = std::ranges::find(r.detector_settings, key, [](const auto& pair) { return pair.first; });
    compare("detector " + key, value, found == r.detector_settings.end() ? "" : found->second);
  }
  return always_known("declared boards", bad.empty() ? "as declared" : bad,
                      "firmware and detector settings as the setup declares",
                      "connect the board that the campaign is about, or declare the new one in the setup", bad.empty());
}

std::optional<Interlock> clock_alignment(const Readings& r, const Setup& s) {
  if (s.flight_records_by_itself) return std::nullopt;
  const auto u = r.alignment_uncertainty_seconds;
  Interlock line =
      always_known("clock alignment", u ? text("±%.2f ms", *u * 1000.0) : "not yet known",
                   text("within %.2f ms", s.alignment_limit_seconds * 1000.0), "wait for clock replies; try a shorter cable path",
                   u.has_value() && *u <= s.alignment_limit_seconds);
  line.fresh = u.has_value();
  return line;
}

std::optional<Interlock> archive(const Readings& r, const Setup&) {
  return always_known("archive", r.archive_writable ? "writable" : "not writable: " + r.archive_trouble, "writable",
                      "free disk space or choose another campaign file", r.archive_writable);
}

std::optional<Interlock> archive_room(const Readings& r, const Setup&) {
  const auto room = r.surroundings.archive_room_bytes;
  return always_known("archive room", room ? text("%.0f MB free", static_cast<double>(*room) / 1.0e6) : "not known",
                      text("at least %.0f MB", static_cast<double>(r.archive_needed_bytes) / 1.0e6),
                      "free disk space or choose another campaign file", room.has_value() && *room >= r.archive_needed_bytes);
}

std::optional<Interlock> setup_unchanged(const Readings& r, const Setup&) {
  const bool same = r.surroundings.setup_file_same;
  return always_known("setup unchanged", same ? "as loaded" : "the file differs from what was loaded", "as loaded",
                      "open the bench again with the new setup", same);
}

std::optional<Interlock> checklist(const Readings& r, const Setup& s) {
  std::string reading;
  bool all = true;
  for (const std::string& role : s.checklist.roles) {
    const auto signature = std::ranges::find(r.signatures, role, &Signature::role);
    const bool there = signature != r.signatures.end();
    all = all && there;
    reading +=
        (reading.empty() ? "" : "; ") + role + ": " + (there ? signature->name + " at " + signature->clock_time : "not signed");
  }
  return always_known("checklist", reading, "signed for this trial by every role",
                      "go through the list; each role signs for itself", all);
}

std::optional<Interlock> target_pressure(const Readings& r, const Setup&) {
  return always_known("target pressure", r.typed_target_pascals ? bar(*r.typed_target_pascals) : "not typed",
                      "typed for this trial", "type the pressure to charge to; none is taken for granted",
                      r.typed_target_pascals.has_value());
}

std::optional<Interlock> keep_clear_wait(const Readings& r, const Setup&) {
  return always_known("keep-clear wait", text("%.0f s left", std::ceil(r.keep_clear_remaining_seconds)), "run down",
                      "wait; stay behind the line", r.keep_clear_remaining_seconds <= 0.0);
}

std::optional<Interlock> analysis_done(const Readings& r, const Setup&) {
  return always_known("analysis", r.judged ? "done" : "reading the flight board and analysing", "done",
                      "wait, or abort to give up reading", r.judged);
}

}  // namespace lines

}  // namespace coldstroke::daq
