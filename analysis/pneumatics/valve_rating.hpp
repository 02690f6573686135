// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a valve sheet says, as the sonic conductance of ISO 6358 that the stroke model takes. The ratings differ in kind: two
// sheets of the same valve lie 15 % apart, so a conductance got this way is a first guess for the charge plan to correct.
#pragma once

namespace coldstroke::analysis {

/// m^3/(s Pa) of an effective area (discharge coefficient times area) of a choked isentropic orifice, air.
/// Source: NACA Report 1135 (1953) over the reference density of ISO 8778.
[[nodiscard]] double conductance_of_area(double effective_area_m2);
/// m^3/(s Pa) of a flow coefficient Kv (m^3/h of water at 1 bar), choked air at 293.15 K. `x_t`: pressure differential ratio of
/// the sheet, 0.6 to 0.85. Source: IEC 60534-2-1:2011 gas sizing, N9 = 24.6.
[[nodiscard]] double conductance_of_kv(double kv, double x_t);
/// Kv of a Cv (US gallons a minute of water at 1 psi). Source: IEC 60534-1 definitions.
[[nodiscard]] double kv_of_cv(double cv);
/// Kv that passes `flow_m3_per_h` (at 0 degrees C and 101.325 kPa) of a gas. Source: IEC 60534-2-1:2011, without fittings.
struct GasFlow {
  double flow_m3_per_h = 0.0, upstream_pascals = 0.0, downstream_pascals = 0.0;
  double kelvin = 293.15, grams_per_mole = 28.9647, heat_capacity_ratio = 1.4, compressibility = 1.0;
};
[[nodiscard]] double kv_for(const GasFlow& gas, double x_t);

}  // namespace coldstroke::analysis
