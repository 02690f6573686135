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

}  // namespace coldstroke::analysis
