// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "analysis/pneumatics/charge_plan.hpp"
#include "analysis/trial/analyse.hpp"

namespace coldstroke::analysis {

/// A judged trial as the charge plan takes it, or why it cannot be used (one sentence). `conditions` without the charge, which is
/// the trial's own release pressure; the exit speed is the best known; values that are only lower bounds are left out.
[[nodiscard]] Result<RecordedStroke, std::string> recorded_stroke(std::int64_t trial, const TrialResult& result,
                                                                  PlanConditions conditions);

}  // namespace coldstroke::analysis
