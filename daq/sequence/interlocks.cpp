// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/sequence/interlocks.hpp"

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

std::string text(const char* format, double a, double b = 0.0) {
  std::array<char, 128> buffer{};
  std::snprintf(buffer.data(), buffer.size(), format, a, b);
  return buffer.data();
}

std::string bar(double pascals) { return text("%.2f bar", pascals / 1.0e5); }

std::string age(double seconds) { return std::isinf(seconds) ? "no frame yet" : text("%.0f ms old", seconds * 1000.0); }

bool rig_fresh(const Readings& r, const Setup& s) { return r.rig_age <= s.link_fresh_seconds; }
bool flight_fresh(const Readings& r, const Setup& s) { return r.flight_age <= s.link_fresh_seconds; }
bool pressure_fresh(const Readings& r, const Setup& s) { return r.pressure_age <= s.link_fresh_seconds && !r.pressure_saturated; }

bool channel_safe(const FiringChannel& declared, std::uint32_t milliohms) {
  if (!declared.dummy_load) return milliohms == wire::kOpenCircuit;
  if (milliohms == wire::kOpenCircuit) return false;
  // in whole milliohms, as the board reports: the ends of the band belong to it
  return std::abs(milliohms - std::round(1000.0 * declared.ohms)) <= std::round(1000.0 * kDummyLoadTolerance * declared.ohms);
}

bool every_channel_on_dummy(const Setup& setup) {
  return !setup.firing_channels.empty() && std::ranges::all_of(setup.firing_channels, [](const auto& c) { return c.dummy_load; });
}

Interlock rig_link(const Readings& r, const Setup& s) {
  return {"rig link",
          age(r.rig_age),
          text("at most %.0f ms old", s.link_fresh_seconds * 1000.0),
          "check the rig board's cable and port name",
          r.rig_compatible && rig_fresh(r, s),
          true};
}

Interlock flight_link(const Readings& r, const Setup& s) {
  return {"flight link",
          age(r.flight_age),
          text("at most %.0f ms old", s.link_fresh_seconds * 1000.0),
          "connect the flight board's cable",
          r.flight_compatible && flight_fresh(r, s),
          true};
}

Interlock stop_loop(const Readings& r, const Setup& s) {
  const bool closed = (r.rig_inputs & wire::kStopLoopClosed) != 0;
  return {"emergency-stop loop",
          closed ? "closed" : "open",
          "closed",
          "release every emergency stop, then clear the fault",
          closed && rig_fresh(r, s),
          rig_fresh(r, s)};
}

Interlock release_key(const Readings& r, const Setup& s) {
  const bool in = (r.rig_inputs & wire::kReleaseKeyIn) != 0;
  return {"release key",         in ? "in" : "out", "in", "the last person out puts the release key in",
          in && rig_fresh(r, s), rig_fresh(r, s)};
}

Interlock firing(const Readings& r, const Setup& s) {
  const bool fresh = r.flight_age <= kFiringFreshSeconds;
  bool safe = fresh && r.milliohms.size() == s.firing_channels.size();
  for (std::size_t k = 0; safe && k < s.firing_channels.size(); ++k) safe = channel_safe(s.firing_channels[k], r.milliohms[k]);
  if (r.armed_switch && !every_channel_on_dummy(s)) safe = false;
  return {"firing channels",
          firing_sentence(r, s),
          every_channel_on_dummy(s) ? "each on its registered dummy load" : "as registered, arm switch at safe",
          "nobody goes near from the front; find what is connected, remove it",
          safe,
          fresh};
}

Interlock detector_idle(const Readings& r, const Setup& s) {
  return {"detector",
          r.detector_idle ? "idle" : "not idle",
          "idle",
          "reset the detector; find out what it reacted to",
          r.detector_idle && flight_fresh(r, s),
          flight_fresh(r, s)};
}

Interlock not_over_pressure(const Readings& r, const Setup& s) {
  return {"pressure below maximum",
          bar(r.pressure_pascals),
          "below " + bar(s.charge.maximum_pascals),
          "vent; find why the regulator went over",
          pressure_fresh(r, s) && r.pressure_pascals < s.charge.maximum_pascals,
          pressure_fresh(r, s)};
}

Interlock in_window(const Readings& r, const Setup& s) {
  const double p = r.pressure_pascals;
  return {"charge window",
          bar(p),
          text("%.2f to %.2f bar", s.charge.low_pascals / 1.0e5, s.charge.high_pascals / 1.0e5),
          p < s.charge.low_pascals ? "top up" : "abort and start again",
          pressure_fresh(r, s) && p >= s.charge.low_pascals && p <= s.charge.high_pascals,
          pressure_fresh(r, s)};
}

Interlock steady(const Readings& r, const Setup& s) {
  return {"pressure steady",
          text("%+.3f bar/s for %.1f s", r.pressure_slope / 1.0e5, r.steady_seconds),
          text("within %.3f bar/s for %.1f s", s.charge.steady_pascals_per_second / 1.0e5, s.charge.settle_seconds),
          "wait; if it keeps falling look for a leak",
          pressure_fresh(r, s) && r.steady_seconds >= s.charge.settle_seconds,
          pressure_fresh(r, s)};
}

Interlock pressure_low(const Readings& r, const Setup& s) {
  return {"pressure proven low",
          bar(r.pressure_pascals),
          "below " + bar(s.sequence.vented_below_pascals),
          "leave the vent open; read the gauge at the vessel",
          pressure_fresh(r, s) && r.pressure_pascals < s.sequence.vented_below_pascals,
          pressure_fresh(r, s)};
}

Interlock valves(const Readings& r, const Setup& s, std::uint16_t expected, const char* words) {
  constexpr std::uint16_t kValves = wire::kChargeValve | wire::kVentValve | wire::kFastValve1 | wire::kFastValve2;
  const bool ok = (r.rig_readback & kValves) == expected && (r.rig_outputs & kValves) == expected;
  std::string reading = "open:";
  if ((r.rig_readback & wire::kChargeValve) != 0) reading += " charge";
  if ((r.rig_readback & wire::kVentValve) != 0) reading += " vent";
  if ((r.rig_readback & wire::kFastValve1) != 0) reading += " fast 1";
  if ((r.rig_readback & wire::kFastValve2) != 0) reading += " fast 2";
  if (reading == "open:") reading = "all shut";
  return {"valve read-back",     reading,        words, "vent; look at the valve that does not follow",
          ok && rig_fresh(r, s), rig_fresh(r, s)};
}

Interlock no_faults(const Readings& r, const Setup& s) {
  std::string reading;
  const auto add = [&](std::uint16_t bit, const char* what) {
    if ((r.rig_faults & bit) != 0) reading += (reading.empty() ? "" : ", ") + std::string{what};
  };
  add(wire::kFaultWatchdog, "host heartbeat was lost");
  add(wire::kFaultOverPressure, "over-pressure");
  add(wire::kFaultStopLoop, "stop loop opened");
  add(wire::kFaultReadback, "a valve did not follow");
  add(wire::kFaultSupply, "electrical supply low");
  return {"rig board faults",
          reading.empty() ? "none" : reading,
          "none",
          "clear the cause, then abort once to clear the fault",
          r.rig_faults == 0 && rig_fresh(r, s),
          rig_fresh(r, s)};
}

Interlock no_restart(const Readings& r) {
  return {"boards kept running",        r.boards_restarted ? "one was reset" : "not reset",
          "not reset since the checks", "abort, find the cause (power, cable), begin again",
          !r.boards_restarted,          true};
}

Interlock archive(const Readings& r) {
  return {"archive",          r.archive_writable ? "writable" : r.archive_trouble,
          "writable",         "free disk space or choose another campaign file",
          r.archive_writable, true};
}

Interlock clocks(const Readings& r, const Setup& s) {
  const auto u = r.alignment_uncertainty_seconds;
  return {"clock alignment",
          u ? text("+-%.2f ms", *u * 1000.0) : "not yet known",
          text("within %.2f ms", s.alignment_limit_seconds * 1000.0),
          "wait for clock replies; try a shorter cable path",
          u.has_value() && *u <= s.alignment_limit_seconds,
          u.has_value()};
}

Interlock waited(const Readings& r) {
  return {"keep-clear wait",
          text("%.0f s left", std::ceil(r.keep_clear_remaining_seconds)),
          "run down",
          "wait; stay behind the line",
          r.keep_clear_remaining_seconds <= 0.0,
          true};
}

Interlock judged(const Readings& r) {
  return {"analysis", r.judged ? "done" : "reading the flight board and analysing",
          "done",     "wait, or abort to give up reading",
          r.judged,   true};
}

}  // namespace

bool InterlockList::all_hold() const {
  return std::ranges::all_of(lines, [](const Interlock& line) { return line.holds; });
}

const Interlock* InterlockList::first_open() const {
  const auto line = std::ranges::find_if(lines, [](const Interlock& l) { return !l.holds; });
  return line == lines.end() ? nullptr : &*line;
}

InterlockList interlocks_to_enter(Step to, const Readings& r, const Setup& s) {
  constexpr std::uint16_t kVentOnly = wire::kVentValve;
  switch (to) {
    case Step::checks:
      return {{rig_link(r, s), flight_link(r, s), archive(r)}};
    case Step::charging: {
      const bool from_vented = (r.rig_outputs & wire::kVentValve) != 0;
      return {{rig_link(r, s), flight_link(r, s), stop_loop(r, s), firing(r, s), detector_idle(r, s), no_faults(r, s),
               from_vented ? valves(r, s, kVentOnly, "only the vent open") : valves(r, s, 0, "all shut"), not_over_pressure(r, s),
               clocks(r, s), no_restart(r), archive(r)}};
    }
    case Step::counting:
    case Step::releasing:
      return {{rig_link(r, s), flight_link(r, s), stop_loop(r, s), release_key(r, s), firing(r, s), detector_idle(r, s),
               no_faults(r, s), valves(r, s, 0, "all shut"), not_over_pressure(r, s), in_window(r, s), steady(r, s), clocks(r, s),
               no_restart(r), archive(r)}};
    case Step::idle:
      return {{rig_link(r, s), pressure_low(r, s), judged(r)}};
    case Step::review:
      return {{rig_link(r, s), pressure_low(r, s), waited(r), firing(r, s)}};
    default:
      return {};
  }
}

InterlockList interlocks_while(Step step, const Readings& r, const Setup& s) {
  switch (step) {
    case Step::charging:
    case Step::settling:
      return {{rig_link(r, s), flight_link(r, s), stop_loop(r, s), firing(r, s), detector_idle(r, s), no_faults(r, s),
               not_over_pressure(r, s), no_restart(r), archive(r)}};
    case Step::counting:
      return {{rig_link(r, s), flight_link(r, s), stop_loop(r, s), release_key(r, s), firing(r, s), detector_idle(r, s),
               no_faults(r, s), not_over_pressure(r, s), in_window(r, s), no_restart(r), archive(r)}};
    case Step::releasing:
      // The detector may rightly build or decide here: the stroke follows within milliseconds.
      return {{rig_link(r, s), flight_link(r, s), stop_loop(r, s), firing(r, s), no_faults(r, s), not_over_pressure(r, s)}};
    default:
      return {};
  }
}

bool live_channel(const Readings& r, const Setup& s) {
  if (r.flight_age > kFiringFreshSeconds || r.milliohms.empty()) return false;
  if (r.armed_switch && !every_channel_on_dummy(s)) return true;
  if (r.milliohms.size() != s.firing_channels.size()) return true;
  for (std::size_t k = 0; k < s.firing_channels.size(); ++k)
    if (!channel_safe(s.firing_channels[k], r.milliohms[k])) return true;
  return false;
}

std::string firing_sentence(const Readings& r, const Setup& s) {
  if (r.milliohms.empty()) return "not read yet";
  std::string out = r.armed_switch ? "ARMED" : "safe";
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

}  // namespace coldstroke::daq
