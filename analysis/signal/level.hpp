// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>

namespace coldstroke::analysis {

/// Mean and scatter of a stretch of samples.
struct Level {
  double mean = 0.0;
  double standard_deviation = 0.0;  ///< n - 1 in the denominator; 0 for fewer than two samples
  std::size_t count = 0;
};

/// By updating (Welford 1962), which keeps its digits for a small scatter on a large mean. Empty input: count 0.
[[nodiscard]] Level level(std::span<const double> samples);

}  // namespace coldstroke::analysis
