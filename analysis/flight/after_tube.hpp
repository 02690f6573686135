// SPDX-License-Identifier: GPL-3.0-or-later
//
// One trial's numbers beyond the stroke: coast, ignition window, tip-off, firing chain, and the pressure it was released with.
#pragma once

#include <optional>
#include <vector>

#include "analysis/firing/firing_chain.hpp"
#include "analysis/trial/evidence.hpp"

namespace coldstroke::analysis {

struct AfterTube {
  std::vector<Metric> metrics;  ///< the rest of kMetricNames, from release_pressure_pascals on, in that order
  std::vector<Finding> findings;
  std::optional<FiringReport> firing;
};

/// `stroke_metrics`: the metrics of the stroke, made before. Definitions: docs/flight.md.
[[nodiscard]] AfterTube after_tube(const TraceSet& traces, const TrialSetup& setup, const Evidence& evidence,
                                   const std::vector<Metric>& stroke_metrics);

}  // namespace coldstroke::analysis
