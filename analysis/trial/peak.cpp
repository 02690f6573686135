// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/peak.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace coldstroke::analysis {
namespace {

/// Parabola around sample `k` from -m to m: middle value, slope, half second derivative, and the noise gain of the middle.
struct Parabola {
  double middle = 0.0, slope = 0.0, bend = 0.0, gain = 1.0, misfit = 0.0;
};

Parabola fit(std::span<const double> y, std::size_t k, std::size_t m) {
  if (m == 0) return {.middle = y[k]};
  const auto n = static_cast<double>(2 * m + 1), md = static_cast<double>(m);
  double s2 = 0.0, s4 = 0.0, y0 = 0.0, y1 = 0.0, y2 = 0.0;
  for (std::size_t i = 0; i <= 2 * m; ++i) {
    const double x = static_cast<double>(i) - md, value = y[k - m + i];
    s2 += x * x;
    s4 += x * x * x * x;
    y0 += value;
    y1 += x * value;
    y2 += x * x * value;
  }
  const double determinant = n * s4 - s2 * s2;
  Parabola out;
  out.middle = (s4 * y0 - s2 * y2) / determinant;
  out.slope = y1 / s2;
  out.bend = (n * y2 - s2 * y0) / determinant;
  out.gain = std::sqrt(s4 / determinant);
  if (m > 1) {
    double squares = 0.0;
    for (std::size_t i = 0; i <= 2 * m; ++i) {
      const double x = static_cast<double>(i) - md, r = y[k - m + i] - out.middle - x * (out.slope + x * out.bend);
      squares += r * r;
    }
    out.misfit = std::sqrt(squares / (n - 3.0));
  }
  return out;
}

}  // namespace

PeakHeight peak_height(std::span<const double> samples, std::size_t half_width, double noise) {
  assert(!samples.empty());
  Parabola best;
  std::size_t at = 0;
  double highest = -INFINITY;
  for (std::size_t k = 0; k < samples.size(); ++k) {
    const Parabola here = fit(samples, k, std::min({half_width, k, samples.size() - 1 - k}));
    const double safe = here.middle - here.gain * noise;
    if (safe > highest) highest = safe, best = here, at = k;
  }
  PeakHeight out;
  const double vertex = best.bend < 0.0 ? std::clamp(-0.5 * best.slope / best.bend, -1.0, 1.0) : 0.0;
  out.place = static_cast<double>(at) + vertex;
  out.height = best.middle + vertex * (best.slope + vertex * best.bend);
  out.noise_uncertainty = best.gain * noise;
  out.shape_uncertainty = 0.5 * std::sqrt(std::max(0.0, best.misfit * best.misfit - noise * noise));
  return out;
}

}  // namespace coldstroke::analysis
