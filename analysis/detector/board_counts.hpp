// SPDX-License-Identifier: GPL-3.0-or-later
//
// Specific force in m/s^2 to what the board's converter would have delivered.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "analysis/detector/detector_spec.hpp"

namespace coldstroke::analysis {

/// One value in counts: nearest, halves away from zero, held at -2^(bits-1) and 2^(bits-1) - 1. `mps2` finite.
[[nodiscard]] std::int32_t count_of(double mps2, const BoardSampling& board);

struct BoardCounts {
  std::vector<std::int32_t> counts;
  std::size_t clipped_samples = 0;  ///< held at an end of the range
};

/// Whether two rates are one and the same, told by different clocks: within 0.1 %, more than two sound clocks are apart and far
/// less than any two rates a person would choose [practice].
[[nodiscard]] bool same_rate(double a_hz, double b_hz);

/// A trace at `sample_rate_hz` (> 0, finite samples) as the board would have sampled it. At the same rate: sample for sample.
/// Otherwise straight lines between samples, read at k / board rate from the trace's first sample to its last; no anti-alias
/// filter is put in, as the reference board has none.
[[nodiscard]] BoardCounts board_counts(std::span<const double> samples_mps2, double sample_rate_hz, const BoardSampling& board);

/// Net of rest and through the settings' filter: what the detector's condition looks at. One pass.
[[nodiscard]] std::vector<std::int32_t> conditioned(std::span<const std::int32_t> counts, std::int32_t rest_counts,
                                                    int filter_shift);

}  // namespace coldstroke::analysis
