// SPDX-License-Identifier: GPL-3.0-or-later
//
// Integrals of an evenly sampled signal, taken as straight lines between its samples.
#pragma once

#include <span>
#include <vector>

namespace coldstroke::analysis {

/// Integral over all samples by the trapezoid rule, unit u s. `period_seconds` > 0. 0 for fewer than two samples.
/// Error for a smooth signal at most (T / 12) period^2 max|f''|. Source: Abramowitz and Stegun 25.4.2 (from memory).
[[nodiscard]] double trapezoid(std::span<const double> samples, double period_seconds);

/// Running trapezoidal integral, same length; element 0 is 0.
[[nodiscard]] std::vector<double> cumulative_trapezoid(std::span<const double> samples, double period_seconds);

/// First and second integral over a window whose ends need not be samples.
struct WindowIntegral {
  double first = 0.0;   ///< int f dt, u s
  double second = 0.0;  ///< int int f dt dt = int (to - t) f dt, u s^2: the travel, if f is an acceleration from rest
};

/// A curve made of straight pieces through `(seconds, value)`; times ascending. Exact for such a curve.
struct Knot {
  double seconds = 0.0, value = 0.0;
};
[[nodiscard]] WindowIntegral integrate(std::span<const Knot> knots);

}  // namespace coldstroke::analysis
