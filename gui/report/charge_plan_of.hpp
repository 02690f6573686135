// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "analysis/pneumatics/charge_plan.hpp"
#include "gui/report/trial_source.hpp"

namespace coldstroke::gui {

/// A charge plan made from a campaign, with what it was made of.
struct PlanMade {
  analysis::ChargePlan plan;
  std::vector<analysis::RecordedStroke> trials;
  std::vector<std::string> left_out;    ///< one sentence a trial that could not be used
  analysis::PlanConditions conditions;  ///< of the newest trial used
  double charge_limit_pascals = 0.0;    ///< gauge, from the newest setup: never above
  double peak_limit_g = 0.0;            ///< upper limit of its peak acceleration criterion, 0: none
};

/// Fits the trials that passed or failed (void ones say why). All must be of one rig: bore, stroke, tilt and dead volume of the
/// newest setup; others are left out. `leave_out`: trial numbers not to use. Takes about a second.
[[nodiscard]] Result<PlanMade> charge_plan_of(const CampaignRows& rows, const std::vector<std::int64_t>& leave_out = {});

}  // namespace coldstroke::gui
