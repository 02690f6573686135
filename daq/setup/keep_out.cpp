// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/keep_out.hpp"

#include <algorithm>
#include <array>
#include <cstdio>

#include "analysis/pneumatics/stored_energy.hpp"

namespace coldstroke::daq {

namespace {

constexpr double kAmbientPascals = 101325.0;

std::string metres(double value) {
  std::array<char, 32> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%.1f m", value);
  return buffer.data();
}

}  // namespace

KeepOut keep_out(const Setup& s) {
  KeepOut out;
  out.configured_metres = s.keep_out.distance_metres;
  out.edition = s.keep_out.edition;
  out.reservoir_joules = analysis::stored_energy_pcc2_joules(kAmbientPascals + s.charge.maximum_pascals, s.reservoir_volume_m3);
  if (s.keep_out.supply_pascals && s.keep_out.supply_volume_m3)
    out.supply_joules =
        analysis::stored_energy_pcc2_joules(kAmbientPascals + *s.keep_out.supply_pascals, *s.keep_out.supply_volume_m3);
  const double energy = out.reservoir_joules + out.supply_joules.value_or(0.0);
  out.tnt_kilograms = analysis::tnt_kilograms(energy);
  const analysis::StandOff distance = analysis::stand_off(energy, s.keep_out.scaled_distance, s.keep_out.tnt_factor);
  out.scaled_metres = distance.scaled_metres;
  out.floor_metres = distance.floor_metres;
  out.exit_speed_bound_mps =
      analysis::exit_speed_bound_mps(s.charge.high_pascals, s.trial.bore_metres, s.trial.stroke_metres,
                                     s.trial.vehicle_mass_kg + s.trial.moving_rig_mass_kg, s.trial.tilt_radians);
  out.reach_metres = analysis::reach_metres(out.exit_speed_bound_mps);
  const double reach = out.reach_metres + s.keep_out.margin_metres;
  out.needed_metres = std::max({out.floor_metres.value_or(0.0), out.scaled_metres, reach});
  const auto warn = [&](double needed, const std::string& why) {
    if (out.configured_metres < needed)
      out.warnings.push_back("keep-out " + metres(out.configured_metres) + " is less than " + metres(needed) + ", " + why);
  };
  if (out.floor_metres) warn(*out.floor_metres, "the published floor (" + out.edition + ")");
  warn(out.scaled_metres, "the scaled distance of the stored energy (" + out.edition + ")");
  warn(reach, "the projectile's reach and its margin");
  if (!out.floor_metres) out.warnings.push_back("the stored energy is beyond what the published distances cover");
  return out;
}

}  // namespace coldstroke::daq
