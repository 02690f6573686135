// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <vector>

#include "analysis/signal/index_run.hpp"

namespace coldstroke::analysis {

/// Runs of three or more samples in a row within `tolerance` (one count) of the same end of the range or beyond it.
/// One alone may be a bit error; three in a row are clipping. NaN ends a run. `low_end` < `high_end`, unit of the samples.
[[nodiscard]] std::vector<IndexRun> saturated_runs(std::span<const double> samples, double low_end, double high_end,
                                                   double tolerance);

/// Runs of five or more samples in a row within `tolerance` (one count) of the largest, or of the smallest, sample of a trace
/// that is noisy elsewhere: a top that was cut off below the converter's range, by an amplifier or inside the sensor. Noise does
/// not stop on a peak by itself. A trace whose typical step from sample to sample is below half of `tolerance` shows no noise to
/// miss, and gives none.
[[nodiscard]] std::vector<IndexRun> flat_top_runs(std::span<const double> samples, double tolerance);

/// Both lists as one, ascending and disjoint. Each must be so already.
[[nodiscard]] std::vector<IndexRun> joined(std::vector<IndexRun> a, const std::vector<IndexRun>& b);

}  // namespace coldstroke::analysis
