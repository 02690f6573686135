// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/pneumatics/blowdown.hpp"

#include <algorithm>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>
#include <limits>

namespace coldstroke::analysis {

double isothermal_blowdown_seconds(const Blowdown& vent, double from_pascals, double to_pascals) {
  if (to_pascals >= from_pascals) return 0.0;
  if (to_pascals <= vent.ambient_pascals) return std::numeric_limits<double>::infinity();
  const double tau = vent.volume_m3 / (vent.conductance_m3_per_s_pa * kIsoReferenceDensity * kAirGasConstant *
                                       std::sqrt(kIsoReferenceTemperature * vent.kelvin));
  const double b = vent.critical_ratio;
  const double choked_until = b > 0.0 ? std::max(to_pascals, vent.ambient_pascals / b) : from_pascals;
  const double choked = from_pascals > choked_until ? std::log(from_pascals / choked_until) : 0.0;
  const double first_ratio = vent.ambient_pascals / std::min(from_pascals, choked_until);
  const double last_ratio = vent.ambient_pascals / to_pascals;
  if (last_ratio <= first_ratio) return tau * choked;
  // ratio = b + (1 - b) sin(angle): the square root of the ellipse cancels and the integrand is smooth up to the end
  const auto angle = [b](double ratio) { return std::asin(std::clamp((ratio - b) / (1.0 - b), 0.0, 1.0)); };
  const auto rate = [b](double at) { return (1.0 - b) / (b + (1.0 - b) * std::sin(at)); };
  const double subsonic =
      boost::math::quadrature::gauss_kronrod<double, 31>::integrate(rate, angle(first_ratio), angle(last_ratio), 0);
  return tau * (choked + subsonic);
}

}  // namespace coldstroke::analysis
