// SPDX-License-Identifier: GPL-3.0-or-later
//
// Felt g against time, for the synthesised recordings.
#pragma once

#include <functional>
#include <string>

#include "analysis/detector/synthesise.hpp"

namespace coldstroke::analysis {

/// Felt g `t` seconds after the event began, t >= 0, and how long it lasts.
struct Waveform {
  std::function<double(double)> felt_g;
  double seconds = 0.0;
};

/// sin(pi t / duration) inside (0, duration), 0 outside.
[[nodiscard]] double half_sine(double t, double duration);
[[nodiscard]] Waveform silent_waveform(const SilentParameters& parameters, std::uint64_t seed);

/// Rest, the waveform, rest; noise and the sensor's range put on.
[[nodiscard]] std::vector<double> sampled_mps2(const Waveform& waveform, const Scene& scene, double rest_after_g);

}  // namespace coldstroke::analysis
