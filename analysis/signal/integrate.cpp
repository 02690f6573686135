// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/integrate.hpp"

#include <cassert>

namespace coldstroke::analysis {

double trapezoid(std::span<const double> samples, double period_seconds) {
  if (samples.size() < 2) return 0.0;
  double sum = 0.5 * (samples.front() + samples.back());
  for (std::size_t i = 1; i + 1 < samples.size(); ++i) sum += samples[i];
  return sum * period_seconds;
}

std::vector<double> cumulative_trapezoid(std::span<const double> samples, double period_seconds) {
  std::vector<double> out(samples.size(), 0.0);
  for (std::size_t i = 1; i < samples.size(); ++i) out[i] = out[i - 1] + 0.5 * period_seconds * (samples[i - 1] + samples[i]);
  return out;
}

WindowIntegral integrate(std::span<const Knot> knots) {
  WindowIntegral out;
  for (std::size_t i = 1; i < knots.size(); ++i) {
    const double h = knots[i].seconds - knots[i - 1].seconds;
    assert(h >= 0.0);
    out.second += out.first * h + h * h * (2.0 * knots[i - 1].value + knots[i].value) / 6.0;
    out.first += 0.5 * h * (knots[i - 1].value + knots[i].value);
  }
  return out;
}

}  // namespace coldstroke::analysis
