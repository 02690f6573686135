// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/pneumatics/valve_rating.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kN9 = 24.6;  // IEC 60534-2-1, flow in m^3/h at 0 degrees C, pressure in kPa
constexpr double kSecondsPerHour = 3600.0, kNormalKelvin = 273.15, kNormalPascals = 101325.0;

/// Flow in m^3/h at normal conditions a Kv and a kPa upstream.
double flow_per_kv(double x, double x_t, double gamma, double grams_per_mole, double kelvin, double compressibility) {
  const double choke = gamma / 1.4 * x_t, limited = std::min(x, choke);
  const double expansion = std::max(1.0 - x / (3.0 * choke), 2.0 / 3.0);
  return kN9 * expansion * std::sqrt(limited / (grams_per_mole * kelvin * compressibility));
}

}  // namespace

double conductance_of_area(double effective_area_m2) {
  constexpr double kUpstream = 1.0e6, kKelvin = kIsoReferenceTemperature;
  return isentropic_mass_flow(effective_area_m2, kAirHeatCapacityRatio, kAirGasConstant, kUpstream, kKelvin, 0.0) /
         (kIsoReferenceDensity * kUpstream);
}

double conductance_of_kv(double kv, double x_t) {
  constexpr double kAir = 28.9647;
  const double per_kilopascal = kv * flow_per_kv(1.0, x_t, 1.4, kAir, kIsoReferenceTemperature, 1.0) / kSecondsPerHour;
  const double density = kNormalPascals / (kAirGasConstant * kNormalKelvin);
  return per_kilopascal / 1000.0 * density / kIsoReferenceDensity;
}

double kv_of_cv(double cv) {
  constexpr double kGallon = 3.785411784e-3, kPsi = 6894.757293168, kBar = 1.0e5;
  return cv * kGallon * 60.0 * std::sqrt(kBar / kPsi);
}

double kv_for(const GasFlow& gas, double x_t) {
  const double x = (gas.upstream_pascals - gas.downstream_pascals) / gas.upstream_pascals;
  return gas.flow_m3_per_h / (gas.upstream_pascals / 1000.0 *
                              flow_per_kv(x, x_t, gas.heat_capacity_ratio, gas.grams_per_mole, gas.kelvin, gas.compressibility));
}

}  // namespace coldstroke::analysis
