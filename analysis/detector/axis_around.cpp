// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/axis_around.hpp"

#include <algorithm>

namespace coldstroke::analysis {
namespace {

/// The axis reaches from a fraction of the present setting to a multiple of it.
constexpr double kFrom = 0.1, kTo = 3.0;

std::vector<double> around(double value, double least, double most, std::size_t steps) {
  const double low = std::max(least, value * kFrom);
  return even_values(low, std::max(low + least, std::min(most, value * kTo)), steps);
}

std::vector<double> whole(int low, int high) {
  return even_values(low, high, static_cast<std::size_t>(high) - static_cast<std::size_t>(low) + 1);
}

}  // namespace

MapAxis axis_around(const DetectorSpec& spec, MapParameter parameter, std::size_t steps) {
  const double now = parameter_value(spec, parameter).value_or(0.1), period = 1.0 / spec.board.sample_rate_hz;
  switch (parameter) {
    case MapParameter::window_seconds:
      return {parameter, around(now, period, 500.0 * period, steps)};
    case MapParameter::deadline_seconds:
      return {parameter, around(now, 2.0 * period, 10.0, steps)};
    case MapParameter::rest_g:
      return {parameter, even_values(now - 0.5, now + 0.5, steps + 1)};
    case MapParameter::filter_shift:
      return {parameter, whole(0, 8)};
    case MapParameter::required_samples:
      return {parameter, whole(1, static_cast<int>(std::max(2.0, std::min(40.0, now * kTo))))};
    default:
      return {parameter, around(now, 0.05,
                                spec.kind == DetectorKind::velocity_gain && parameter == MapParameter::threshold
                                    ? 1000.0
                                    : spec.board.range_g - spec.rest_g,
                                steps)};
  }
}

}  // namespace coldstroke::analysis
