// SPDX-License-Identifier: GPL-3.0-or-later
//
// Detector settings and streams drawn from a seed, wide enough to meet every branch of a detector.
#pragma once

#include <algorithm>
#include <cstdint>
#include <random>
#include <vector>

#include "analysis/detector/detector_spec.hpp"

namespace coldstroke::analysis {

using Engine = std::mt19937_64;

inline std::int32_t between(Engine& engine, std::int32_t low, std::int32_t high) {
  return low + static_cast<std::int32_t>(engine() % (static_cast<std::uint64_t>(high - low) + 1));
}

/// Settings a board accepts, or, one time in fifty, may not.
inline DetectorSettings random_settings(Engine& engine, std::int32_t level_max, std::int32_t window_max) {
  DetectorSettings s;
  s.kind = static_cast<DetectorKind>(between(engine, 1, 4));
  s.rest_counts = between(engine, -level_max / 8, level_max / 8);
  s.threshold_counts = between(engine, 1, std::max(1, level_max / 2));
  s.window_samples = static_cast<std::uint32_t>(between(engine, s.kind == DetectorKind::sustained ? 0 : 1, window_max));
  s.sum_threshold = std::int64_t{between(engine, 1, level_max)} * (s.window_samples + 1) / 2 + 1;
  s.building_counts = between(engine, 1, std::max(1, level_max / 2));
  s.deadline_samples = between(engine, 0, 2) == 0 ? 0 : static_cast<std::uint32_t>(between(engine, 1, 3 * window_max));
  s.required_samples = static_cast<std::uint32_t>(between(engine, 1, std::max(1, static_cast<std::int32_t>(s.window_samples))));
  s.filter_shift = static_cast<std::uint8_t>(between(engine, 0, 2) == 0 ? between(engine, 1, 6) : 0);
  if (between(engine, 0, 49) == 0) s.threshold_counts = between(engine, -3, 0);
  return s;
}

/// Quiet, bumps and bursts: levels that wander, so that every threshold is met from below, held and lost again.
inline std::vector<std::int32_t> random_stream(Engine& engine, std::size_t count, std::int32_t level_max) {
  std::vector<std::int32_t> out(count);
  std::int32_t base = 0, left = 0;
  for (auto& v : out) {
    if (left-- <= 0) {
      left = between(engine, 1, 40);
      base = between(engine, 0, 3) == 0 ? between(engine, -level_max, level_max) : between(engine, -level_max / 8, level_max / 8);
    }
    v = std::clamp(base + between(engine, -level_max / 16 - 1, level_max / 16 + 1), -level_max, level_max);
  }
  return out;
}

}  // namespace coldstroke::analysis
