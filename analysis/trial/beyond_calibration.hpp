// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "analysis/trial/analyse.hpp"
#include "analysis/trial/evidence.hpp"

namespace coldstroke::analysis {

/// Marks each metric that rests on readings outside the span its channel's calibration covers, and adds the finding
/// "beyond_calibration" for each such channel. A hundredth of the span outside still counts as covered: that is noise and a
/// zero's drift. A trace that states no span marks nothing. `metrics` are those of the whole result.
void mark_beyond_calibration(const TraceSet& traces, const Evidence& evidence, std::vector<Metric>& metrics,
                             std::vector<Finding>& findings);

}  // namespace coldstroke::analysis
