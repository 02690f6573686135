// SPDX-License-Identifier: GPL-3.0-or-later
//
// What compressed gas can do if it gets out all at once, and how far away people should be. Published formulae, which differ by a
// factor of two and more: whoever prints one says which. Background for people's decisions, not a permit.
// Absolute pressures, ideal gas; at 200 bar that is several percent off.
#pragma once

#include <optional>

namespace coldstroke::analysis {

/// ASME PCC-2-2008 Article 5.1, Mandatory Appendix II, air or nitrogen: 2.5 p V (1 - (p_a/p)^0.286) with p_a = 101 000 Pa,
/// joules. 0 at or below p_a.
[[nodiscard]] double stored_energy_pcc2_joules(double pressure_pascals, double volume_m3);
/// (p - p_a) V / (k - 1), k = 1.4. Brode's form: Crowl, Understanding Explosions (2003), Appendix B.
[[nodiscard]] double stored_energy_brode_joules(double pressure_pascals, double volume_m3, double ambient_pascals = 101325.0);
/// p V ln(p/p_a): isothermal expansion, the largest of the family. Same source.
[[nodiscard]] double stored_energy_isothermal_joules(double pressure_pascals, double volume_m3,
                                                     double ambient_pascals = 101325.0);

/// ASME PCC-2-2008 Article 5.1, Mandatory Appendix II: 1 kg of TNT is 4 266 920 J.
[[nodiscard]] double tnt_kilograms(double energy_joules);

/// Both distances of ASME PCC-2-2008 Article 5.1, Appendix III; the greater one rules.
struct StandOff {
  double scaled_metres = 0.0;          ///< scaled distance times the cube root of the TNT mass
  std::optional<double> floor_metres;  ///< 30 m up to 135.5 MJ, 60 m up to 271 MJ; above that the article gives none
};
/// `scaled_distance` in m/kg^(1/3): at least 20 there. `tnt_factor`: 1 for the 2008 text; a factor 2 is quoted for later
/// editions.
[[nodiscard]] StandOff stand_off(double energy_joules, double scaled_distance = 20.0, double tnt_factor = 1.0);

/// Energy above which a fragment counts as hazardous in US explosives safety: 58 ft lb (DDESB TP-12 as summarised).
inline constexpr double kHazardousFragmentJoules = 79.0;

/// Upper bound of the exit speed: the charge pressure on the piston over the whole stroke, nothing lost but lifting.
/// `charge_gauge_pascals` > 0, lengths in metres, `moving_mass_kg` > 0. 0 if the push does not lift the mass.
[[nodiscard]] double exit_speed_bound_mps(double charge_gauge_pascals, double bore_metres, double stroke_metres,
                                          double moving_mass_kg, double tilt_radians);
/// Farthest landing on flat ground without drag, at 45 degrees: v^2/g.
[[nodiscard]] double reach_metres(double speed_mps);
/// The same for a tube `tilt_radians` from vertical: v^2 sin(2 tilt)/g.
[[nodiscard]] double reach_at_tilt_metres(double speed_mps, double tilt_radians);
/// Height reached straight up, no drag.
[[nodiscard]] double apex_metres(double speed_mps);

}  // namespace coldstroke::analysis
