// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>

namespace coldstroke::analysis {

/// Height of a peak. The largest sample is not it: noise makes the largest of many read high, a coarse rate makes it read low.
struct PeakHeight {
  double place = 0.0;  ///< samples from samples[0]
  double height = 0.0;
  double noise_uncertainty = 0.0;  ///< what `noise` leaves on the height
  double shape_uncertainty = 0.0;  ///< what does not fit a parabola: ring of the sensor, a corner
};

/// Parabolas by least squares over 2 * half_width + 1 samples around every sample (fewer at the ends, down to the sample itself);
/// the one whose middle stands highest, less its own standard deviation, gives the height at its vertex.
/// `samples`: the stroke alone, at least one. `noise`: standard deviation of a sample.
[[nodiscard]] PeakHeight peak_height(std::span<const double> samples, std::size_t half_width, double noise);

}  // namespace coldstroke::analysis
