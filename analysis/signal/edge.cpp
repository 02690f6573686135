// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/edge.hpp"

#include <algorithm>
#include <cassert>

namespace coldstroke::analysis {

std::vector<Edge> hysteresis(std::span<const double> samples, double on_level, double off_level) {
  assert(off_level <= on_level);
  std::vector<Edge> out;
  bool on = false;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const bool now = on ? !(samples[i] < off_level) : samples[i] >= on_level;
    if (now != on) out.push_back({i, now});
    on = now;
  }
  return out;
}

std::optional<double> rising_crossing(std::span<const double> samples, double level, std::size_t from) {
  for (std::size_t i = std::max<std::size_t>(from, 1); i < samples.size(); ++i)
    if (samples[i - 1] < level && samples[i] >= level)
      return static_cast<double>(i - 1) + (level - samples[i - 1]) / (samples[i] - samples[i - 1]);
  return std::nullopt;
}

std::optional<double> last_falling_crossing(std::span<const double> samples, double level, std::size_t until) {
  if (samples.empty()) return std::nullopt;
  for (std::size_t i = std::min(until, samples.size() - 1); i > 0; --i)
    if (samples[i - 1] >= level && samples[i] < level)
      return static_cast<double>(i - 1) + (samples[i - 1] - level) / (samples[i - 1] - samples[i]);
  return std::nullopt;
}

std::optional<double> back_extrapolated_start(std::span<const double> samples, double peak, double low, double high) {
  assert(0.0 < low && low < high);
  const auto t1 = rising_crossing(samples, low * peak);
  if (!t1) return std::nullopt;
  const auto t2 = rising_crossing(samples, high * peak, static_cast<std::size_t>(*t1) + 1);
  if (!t2) return std::nullopt;
  return *t1 - low * (*t2 - *t1) / (high - low);
}

}  // namespace coldstroke::analysis
