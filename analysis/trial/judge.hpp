// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "analysis/trial/evidence.hpp"

namespace coldstroke::analysis {

/// The detector's outcome by the definitions of docs/methods.md; what qualifies it goes to `findings`.
[[nodiscard]] Outcome detector_outcome(const Evidence& evidence, const DetectorRecord& detector, const Metric& latency,
                                       const TrialSetup& setup, std::vector<Finding>& findings);

/// One criterion. A quality condition that is not met is void, never a failure of the vehicle.
[[nodiscard]] Judgement judge(const Criterion& criterion, const std::vector<Metric>& metrics, Outcome outcome,
                              const Evidence& evidence, const DetectorRecord& detector,
                              const std::optional<FiringReport>& firing = {});

/// Any fail: fail; else any void: void; else pass. None at all: void.
[[nodiscard]] Verdict verdict_of(const std::vector<Judgement>& judgements);

}  // namespace coldstroke::analysis
