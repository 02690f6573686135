// SPDX-License-Identifier: GPL-3.0-or-later
//
// How much later one signal shows what another showed: cross-correlation with a parabola through its peak. For two signals of
// the same shape only (force and acceleration; never pressure and acceleration, whose shapes differ).
#pragma once

#include <cstddef>
#include <optional>
#include <span>

#include "analysis/result.hpp"

namespace coldstroke::analysis {

/// Vertex of the parabola through (-1, a), (0, b), (1, c): place relative to the middle, and height. b >= a, c.
struct Vertex {
  double place = 0.0, height = 0.0;
};
[[nodiscard]] Vertex parabola_vertex(double a, double b, double c);

/// Lag of `y` behind `x` in samples (positive: y is later), both on one spacing, means removed by the caller where needed.
/// Largest sum of x[i] * y[i + lag] over |lag| <= max_lag, then the parabola. Its bias on a cosine-shaped peak with S samples
/// a period is known: (1/2) tan(w d) / tan(w / 2) - d, w = 2 pi / S. Nothing if either is empty or flat.
[[nodiscard]] std::optional<double> correlation_lag(std::span<const double> x, std::span<const double> y, std::size_t max_lag);

/// An evenly sampled stretch.
struct Sampled {
  std::span<const double> samples;
  double start_seconds = 0.0, period_seconds = 0.0;
  [[nodiscard]] double end_seconds() const {
    return start_seconds + period_seconds * static_cast<double>(samples.empty() ? 0 : samples.size() - 1);
  }
};

struct PulseAlignment {
  double shift_seconds = 0.0;                 ///< to add to the second's times so that its pulse lies on the first's
  double standard_uncertainty_seconds = 0.0;  ///< from its noise and sample period; says nothing of unlike shapes
  double likeness = 0.0;                      ///< correlation coefficient at the best shift, 1: same shape
};

/// Lays `second` (vehicle acceleration, own clock) on the pulse of `first` (force, bench clock) between `from` and `to` seconds
/// (first motion less a little, separation plus a little, of `first`): the shift at which their correlation coefficient
/// is largest, searched over the whole of `second`. Complains if there is no pulse in either, or likeness stays below 0.8.
[[nodiscard]] Result<PulseAlignment> align_on_pulse(const Sampled& first, double from, double to, const Sampled& second);

}  // namespace coldstroke::analysis
