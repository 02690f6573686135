// SPDX-License-Identifier: GPL-3.0-or-later
//
// Where a signal starts and ends, by levels. Only ever on unfiltered samples: a phaseless filter smears an edge backwards.
// Places are in samples from samples[0], real numbers.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace coldstroke::analysis {

struct Edge {
  std::size_t index = 0;
  bool on = false;
  bool operator==(const Edge&) const = default;
};

/// On at or above `on_level`, off below `off_level` (<= on_level): one event a change, the first from "off".
[[nodiscard]] std::vector<Edge> hysteresis(std::span<const double> samples, double on_level, double off_level);

/// First place at or after `from` where the straight line between samples comes up to `level` from below.
[[nodiscard]] std::optional<double> rising_crossing(std::span<const double> samples, double level, std::size_t from = 0);
/// Last place at or before `until` (an index) where it comes down to `level`.
[[nodiscard]] std::optional<double> last_falling_crossing(std::span<const double> samples, double level, std::size_t until);

/// Start of a pulse that rises from 0: the line through its first crossings of low * peak and high * peak, taken down to zero.
/// Exact on a straight ramp. Known bias, late, in parts of the rise: half-sine -0.0003 to -0.002, quadratic 0.19 to 0.22,
/// raised cosine 0.11 to 0.13 for 10 % with 20 to 50 % (derived; tests/published).
[[nodiscard]] std::optional<double> back_extrapolated_start(std::span<const double> samples, double peak, double low,
                                                            double high);

}  // namespace coldstroke::analysis
