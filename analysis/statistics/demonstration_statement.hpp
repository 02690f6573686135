// SPDX-License-Identifier: GPL-3.0-or-later
//
// The demonstration as a person reads it: what is shown, what is not, and what to be careful about.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/statistics/demonstration.hpp"
#include "analysis/statistics/trial_count.hpp"

namespace coldstroke::analysis::statistics {

struct GoalState {
  Goal goal;
  bool shown = false;
  std::int64_t passes_still_needed = 0;  ///< without a further failure; 0 if shown
  bool operator==(const GoalState&) const = default;
};

struct DemonstrationStatement {
  std::string sentence;            ///< "22 of 22 passed since firmware 3f9c; shows 0.90 at 90 %; 7 more for 0.90 at 95 %"
  std::vector<std::string> notes;  ///< restarts, voids with their share, closed runs that failed: never empty of bad news
  std::vector<GoalState> goals;    ///< easiest first
  /// At each goal's confidence, in the order of `goals`; empty without a counted trial.
  std::vector<ReliabilityBound> bounds;
  /// The same with every trial of this run that was voided by hand after a judgement counted as failed. Empty without such.
  std::vector<ReliabilityBound> bounds_if_voided_had_failed;
  bool operator==(const DemonstrationStatement&) const = default;
};

/// States the current (last) run of `count`, which must come from `trials`, against one or more goals.
/// Bounds are rounded down in the sentence. Refuses no goals, a goal outside (0, 1), and a count of other trials.
[[nodiscard]] Result<DemonstrationStatement> state_demonstration(std::span<const TrialRecord> trials, const TrialCount& count,
                                                                 std::span<const Goal> goals);

}  // namespace coldstroke::analysis::statistics
