// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/pneumatics/stored_energy.hpp"

#include <boost/math/constants/constants.hpp>
#include <cmath>

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::analysis {

namespace {
constexpr double kPcc2AmbientPascals = 101000.0;
constexpr double kPcc2Exponent = 0.286;
constexpr double kPcc2JoulesPerTntKilogram = 4'266'920.0;
constexpr double kFirstFloorJoules = 135.5e6, kSecondFloorJoules = 271.0e6;
}  // namespace

double stored_energy_pcc2_joules(double pressure_pascals, double volume_m3) {
  if (pressure_pascals <= kPcc2AmbientPascals) return 0.0;
  return 2.5 * pressure_pascals * volume_m3 * (1.0 - std::pow(kPcc2AmbientPascals / pressure_pascals, kPcc2Exponent));
}

double stored_energy_brode_joules(double pressure_pascals, double volume_m3, double ambient_pascals) {
  if (pressure_pascals <= ambient_pascals) return 0.0;
  return (pressure_pascals - ambient_pascals) * volume_m3 / (kAirHeatCapacityRatio - 1.0);
}

double stored_energy_isothermal_joules(double pressure_pascals, double volume_m3, double ambient_pascals) {
  if (pressure_pascals <= ambient_pascals) return 0.0;
  return pressure_pascals * volume_m3 * std::log(pressure_pascals / ambient_pascals);
}

double tnt_kilograms(double energy_joules) { return energy_joules / kPcc2JoulesPerTntKilogram; }

StandOff stand_off(double energy_joules, double scaled_distance, double tnt_factor) {
  StandOff out;
  out.scaled_metres = scaled_distance * std::cbrt(tnt_factor * tnt_kilograms(energy_joules));
  if (energy_joules <= kFirstFloorJoules) {
    out.floor_metres = 30.0;
  } else if (energy_joules <= kSecondFloorJoules) {
    out.floor_metres = 60.0;
  }
  return out;
}

double exit_speed_bound_mps(double charge_gauge_pascals, double bore_metres, double stroke_metres, double moving_mass_kg,
                            double tilt_radians) {
  const double area = 0.25 * boost::math::constants::pi<double>() * bore_metres * bore_metres;
  const double net = charge_gauge_pascals * area - moving_mass_kg * kStandardGravity * std::cos(tilt_radians);
  return net > 0.0 ? std::sqrt(2.0 * net * stroke_metres / moving_mass_kg) : 0.0;
}

double reach_metres(double speed_mps) { return speed_mps * speed_mps / kStandardGravity; }

double reach_at_tilt_metres(double speed_mps, double tilt_radians) {
  return reach_metres(speed_mps) * std::sin(2.0 * tilt_radians);
}

double apex_metres(double speed_mps) { return 0.5 * speed_mps * speed_mps / kStandardGravity; }

}  // namespace coldstroke::analysis
