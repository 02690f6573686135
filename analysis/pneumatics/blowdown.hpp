// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::analysis {

/// A reservoir that empties to ambient through an open vent, ISO 6358 flow.
struct Blowdown {
  double volume_m3 = 0.0;                ///< > 0
  double conductance_m3_per_s_pa = 0.0;  ///< > 0
  double critical_ratio = 0.3;           ///< 0 .. below 1
  double ambient_pascals = 101325.0;
  double kelvin = kIsoReferenceTemperature;
};

/// Seconds for the gas to fall from one absolute pressure to another at constant temperature: the slowest a healthy vent can be,
/// because gas that cools on the way out leaves sooner. 0 if it is there already, infinite if the end is not above ambient.
/// Choked it is tau ln(p0/p1) with tau = V / (C rho0 R sqrt(T0 T)); below the critical ratio the ISO 6358 ellipse is integrated
/// over its own angle (Gauss-Kronrod). Source: mass balance with ISO 6358-1 flow; checked against the published vent times.
[[nodiscard]] double isothermal_blowdown_seconds(const Blowdown& vent, double from_pascals, double to_pascals);

}  // namespace coldstroke::analysis
