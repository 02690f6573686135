// SPDX-License-Identifier: GPL-3.0-or-later
//
// Libraries and detectors drawn from a seed: small, with every outcome likely.
#pragma once

#include <string>
#include <vector>

#include "analysis/detector/recording.hpp"
#include "analysis/pneumatics/stroke_model.hpp"
#include "tests/analysis/detector/random_settings.hpp"

namespace coldstroke::analysis {

inline constexpr BoardSampling kTestBoard{1000.0, 12, 16.0};

inline double uniform(Engine& engine, double low, double high) {
  return low + (high - low) * static_cast<double>(engine() >> 11) * 0x1.0p-53;
}

/// Rest, a burst or two, rest again, with noise. A must_fire one has a large burst at first motion.
inline Recording random_recording(Engine& engine, std::size_t number) {
  Recording r;
  r.name = "recording " + std::to_string(number);
  r.label = number == 0 || engine() % 2 == 0 ? Label::must_fire : Label::must_stay_silent;
  r.sample_rate_hz = kTestBoard.sample_rate_hz;
  const bool fires = r.label == Label::must_fire;
  const auto count = static_cast<std::size_t>(between(engine, 120, 300));
  const auto begin = static_cast<std::size_t>(between(engine, fires ? 30 : 1, 80));
  const auto length = static_cast<std::size_t>(between(engine, fires ? 15 : 1, fires ? 60 : 20));
  const double level = uniform(engine, fires ? 4.0 : 0.1, fires ? 14.0 : 6.0), noise = uniform(engine, 0.0, 0.3);
  std::vector<double>& z = r.axes[2];
  for (std::size_t k = 0; k < count; ++k) {
    const double pulse = k >= begin && k < begin + length ? level : k >= begin + length && fires ? -1.0 : 0.0;
    z.push_back((1.0 + pulse + uniform(engine, -noise, noise)) * kStandardGravity);
  }
  if (fires) {
    r.first_motion_seconds = static_cast<double>(begin) / r.sample_rate_hz - uniform(engine, 0.0, 0.0005);
    r.deadline_seconds = uniform(engine, 0.005, 0.08);
  }
  return r;
}

/// `count` recordings, the first one must_fire.
inline std::vector<Recording> random_library(Engine& engine, std::size_t count) {
  std::vector<Recording> out;
  for (std::size_t i = 0; i < count; ++i) out.push_back(random_recording(engine, i));
  return out;
}

inline DetectorSpec random_spec(Engine& engine) {
  DetectorSpec spec;
  spec.name = "drawn";
  spec.kind = static_cast<DetectorKind>(between(engine, 1, 4));
  spec.window_samples = static_cast<std::uint32_t>(between(engine, 1, 40));
  spec.required_samples = 1;
  spec.threshold_g = uniform(engine, 0.3, 7.0);
  spec.velocity_gain_mps = uniform(engine, 0.1, 1.5);
  spec.building_g = uniform(engine, 0.3, 3.0);
  if (engine() % 2 == 0) spec.deadline_seconds = uniform(engine, 0.002, 0.1);
  spec.filter_shift = engine() % 3 == 0 ? between(engine, 1, 4) : 0;
  spec.board = kTestBoard;
  return spec;
}

}  // namespace coldstroke::analysis
