// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/state_levels.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace coldstroke::analysis {

std::optional<StateLevels> state_levels(std::span<const double> samples, std::size_t bins) {
  if (samples.size() < 2 || bins < 2) return std::nullopt;
  if (std::any_of(samples.begin(), samples.end(), [](double x) { return !std::isfinite(x); })) return std::nullopt;
  const auto [lowest, highest] = std::minmax_element(samples.begin(), samples.end());
  const double low = *lowest, width = (*highest - low) / static_cast<double>(bins);
  if (!(width > 0.0)) return std::nullopt;
  std::vector<std::size_t> counts(bins, 0);
  for (const double x : samples) ++counts[std::min(bins - 1, static_cast<std::size_t>((x - low) / width))];
  const auto middle = counts.begin() + static_cast<std::ptrdiff_t>(bins / 2);
  const auto centre = [&](std::vector<std::size_t>::iterator bin) {
    return low + (static_cast<double>(bin - counts.begin()) + 0.5) * width;
  };
  return StateLevels{centre(std::max_element(counts.begin(), middle)), centre(std::max_element(middle, counts.end()))};
}

std::optional<Transition> first_transition(std::span<const double> samples, const StateLevels& levels) {
  if (samples.size() < 2 || !(levels.high > levels.low)) return std::nullopt;
  const double half = 0.5 * (levels.low + levels.high);
  Transition out;
  out.rising = samples.front() < half;
  // One direction only from here on: 0 in the first state, 1 in the second.
  const auto way = [&](std::size_t i) {
    const double risen = (samples[i] - levels.low) / (levels.high - levels.low);
    return out.rising ? risen : 1.0 - risen;
  };
  const auto between = [&](std::size_t i, double level) {  // the crossing between samples i and i + 1
    return static_cast<double>(i) + (level - way(i)) / (way(i + 1) - way(i));
  };
  const auto comes_up = [&](std::size_t i, double level) { return way(i) < level && way(i + 1) >= level; };
  const std::size_t last = samples.size() - 1;
  std::size_t middle = 0;
  while (middle < last && !comes_up(middle, 0.5)) ++middle;
  if (middle == last) return std::nullopt;
  std::size_t begin = middle + 1;
  while (begin > 0 && !comes_up(begin - 1, 0.1)) --begin;
  std::size_t end = middle;
  while (end < last && !comes_up(end, 0.9)) ++end;
  if (begin == 0 || end == last) return std::nullopt;
  out.at_10 = between(begin - 1, 0.1);
  out.at_50 = between(middle, 0.5);
  out.at_90 = between(end, 0.9);
  return out;
}

}  // namespace coldstroke::analysis
