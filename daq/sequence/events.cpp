// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/sequence/events.hpp"

#include <algorithm>

#include "analysis/pneumatics/blowdown.hpp"

namespace coldstroke::daq {

namespace {
/// The pressure has to stay below the limit for this long before it counts as proven low.
constexpr double kLowSeconds = 0.3;
/// Pressure is "found" or "comes back" above this multiple of the vented limit.
constexpr double kFoundFactor = 1.5;
}  // namespace

bool vent_is_slow(const VentDown& vent_down, double gauge_pascals, const Setup& setup) {
  analysis::Blowdown vent;
  vent.volume_m3 = setup.reservoir_volume_m3;
  vent.conductance_m3_per_s_pa = setup.vent.conductance_m3_per_s_pa;
  vent.critical_ratio = setup.vent.critical_ratio;
  const double now = std::max(gauge_pascals, setup.sequence.vented_below_pascals);
  const double healthy =
      isothermal_blowdown_seconds(vent, vent.ambient_pascals + vent_down.start_pascals, vent.ambient_pascals + now);
  return gauge_pascals >= setup.sequence.vented_below_pascals &&
         vent_down.seconds > kVentSlowFactor * healthy + kVentAllowanceSeconds;
}

std::optional<SequenceEvent> event_in(Step step, const Readings& r, const Setup& s) {
  using enum SequenceEvent;
  const auto answers = [step](SequenceEvent event) { return transition(step, event) != nullptr; };
  const bool known = pressure_known(r, s);
  if (answers(motion_seen) && r.motion_seen) return motion_seen;
  if (answers(live_channel_found) && live_channel(r, s)) return live_channel_found;
  // faults latched before the trial block the charge, they do not abort the checks
  const bool vented_itself = step == Step::checks ? r.rig_restarted : r.rig_vented_itself || r.rig_faults != 0;
  if (answers(board_vented_itself) && vented_itself) return board_vented_itself;
  if (answers(interlock_lost) && !interlocks_while(step, r, s).all_hold()) return interlock_lost;
  if (answers(gas_refused) && r.gas_refused) return gas_refused;
  if (answers(pressure_reached) && known && r.pressure_pascals >= s.charge.target_pascals) return pressure_reached;
  if (answers(pressure_low) && proven_low(r, s) && r.low_seconds >= kLowSeconds) return pressure_low;
  if (answers(found_pressurised) && known && r.pressure_pascals > kFoundFactor * s.sequence.vented_below_pascals)
    return found_pressurised;
  if (answers(vent_slow) && known && r.vent_down && vent_is_slow(*r.vent_down, r.pressure_pascals, s)) return vent_slow;
  if (answers(lid_due) && r.lid_due) return lid_due;
  if (answers(deadline_passed) && r.deadline_passed) return deadline_passed;
  return std::nullopt;
}

}  // namespace coldstroke::daq
