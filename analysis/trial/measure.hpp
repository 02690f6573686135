// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "analysis/trial/evidence.hpp"

namespace coldstroke::analysis {

struct Measures {
  std::vector<Metric> metrics;    ///< the first of kMetricNames, to the detector's latency, in that order
  std::vector<Finding> findings;  ///< of the numbers among each other
};

/// Every metric with its budget, or why it is absent. Definitions: docs/methods.md.
[[nodiscard]] Measures measure(const Evidence& evidence, const DetectorRecord& detector,
                               std::optional<double> release_commanded_seconds, const TrialSetup& setup);

}  // namespace coldstroke::analysis
