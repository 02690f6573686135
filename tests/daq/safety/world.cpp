// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>

#include "protocol/wire/message.hpp"
#include "tests/daq/safety/exploration.hpp"
#include "tests/daq/safety/world_digits.hpp"

namespace coldstroke::daq {

namespace {

using Pressure = World::Pressure;

double gauge_of(Pressure pressure, const ChargeSetup& charge) {
  switch (pressure) {
    case Pressure::between:
      return 0.5 * charge.low_pascals;
    case Pressure::window:
    case Pressure::window_steady:
      return charge.target_pascals;
    case Pressure::high:
      return 0.5 * (charge.high_pascals + charge.maximum_pascals);
    case Pressure::over:
      return charge.maximum_pascals;
    default:
      return 0.0;
  }
}

void read_rig(Readings& r, const World& w, const BoardModel& board) {
  r.rig_age = w.link ? 0.01 : kNever;
  r.rig_compatible = w.link;
  if (w.stop_loop_closed) r.rig_inputs |= wire::kStopLoopClosed;
  if (w.key_in) r.rig_inputs |= wire::kReleaseKeyIn;
  if (w.lid_open) r.rig_inputs |= wire::kLidOpenSwitch;
  if (board.charge_valve_open()) r.rig_outputs |= wire::kChargeValve;
  if (board.vent_open()) r.rig_outputs |= wire::kVentValve;
  if (board.fast_valves_open()) r.rig_outputs |= wire::kFastValve1 | wire::kFastValve2;
  r.rig_readback = r.rig_outputs;
  if (board.fault) r.rig_faults = wire::kFaultStopLoop;
}

}  // namespace

World world_of(std::uint32_t number) {
  const auto d = digits_of(number);
  World w;
  w.link = d[0] == 0;
  w.stop_loop_closed = d[1] == 0;
  w.key_in = d[2] == 0;
  w.lid_open = d[3] == 0;
  w.firing = static_cast<World::Firing>(d[4]);
  w.detector_idle = d[5] == 0;
  w.pressure = static_cast<Pressure>(d[6]);
  w.papers = static_cast<World::Papers>(d[7]);
  w.checklist_signed = d[8] == 0;
  w.alive = d[9] == 0;
  w.waited = d[10] == 0;
  return w;
}

Readings readings_of(const World& w, const BoardModel& board, const Setup& s) {
  Readings r;
  read_rig(r, w, board);
  r.flight_age = w.firing == World::Firing::stale ? kNever : 0.01;
  r.flight_compatible = true;
  r.milliohms.assign(s.firing_channels.size(), wire::kOpenCircuit);
  if (w.firing == World::Firing::live) r.milliohms.back() = 1600;
  r.detector_idle = w.detector_idle;
  r.playback = !w.detector_idle;  // asked with the detector, wherever that is
  r.dummy_load_amperes = 0.0;
  r.pressure_age = w.pressure == Pressure::unknown ? kNever : 0.01;
  r.pressure_pascals = gauge_of(w.pressure, s.charge);
  r.chamber_pascals = 0.0;
  r.steady_seconds = w.pressure == Pressure::window_steady ? s.charge.settle_seconds + 1.0 : 0.0;
  r.rig_firmware = s.declared.rig_firmware;
  r.flight_firmware = s.declared.flight_firmware;
  for (const ChannelSetup& channel : s.channels)
    r.channels.push_back({0.01, !w.alive, false, 0.5 * (channel.rest_low.value_or(0.0) + channel.rest_high.value_or(0.0)), 0.0});
  r.archive_writable = w.alive;
  r.alignment_uncertainty_seconds = 1.0e-4;
  r.archive_needed_bytes = 1;
  r.surroundings = {w.papers == World::Papers::in_order ? "2026-07-01" : "2100-01-01", 1000, true};
  if (w.papers == World::Papers::bypassed) r.bypasses = {{"calibration", "checked against the gauge today"}};
  if (w.checklist_signed) r.signatures = {{"operator", "Ann Lee", "10:00:00"}, {"range officer", "Bo Ek", "10:00:30"}};
  if (w.checklist_signed) r.typed_target_pascals = s.charge.target_pascals;  // asked with the checklist, wherever that is
  r.keep_clear_remaining_seconds = w.waited ? 0.0 : 10.0;
  return r;
}

}  // namespace coldstroke::daq
