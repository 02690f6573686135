// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/charge_plan_of.hpp"

#include <algorithm>

#include "analysis/pneumatics/plan_trials.hpp"

namespace coldstroke::gui {
namespace {

bool same_rig(const daq::Setup& a, const daq::Setup& b) {
  return a.fast_valves && b.fast_valves && a.trial.bore_metres == b.trial.bore_metres &&
         a.trial.stroke_metres == b.trial.stroke_metres && a.trial.tilt_radians == b.trial.tilt_radians &&
         a.trial.moving_rig_mass_kg == b.trial.moving_rig_mass_kg &&
         a.fast_valves->dead_volume_m3 == b.fast_valves->dead_volume_m3;
}

analysis::PlanRig rig_of(const daq::Setup& setup) {
  const daq::FastValvesSetup& valves = *setup.fast_valves;
  analysis::PlanRig rig;
  rig.parameters.bore_metres = setup.trial.bore_metres;
  rig.parameters.stroke_metres = setup.trial.stroke_metres;
  rig.parameters.tilt_radians = setup.trial.tilt_radians;
  rig.parameters.piston_mass_kg = setup.trial.moving_rig_mass_kg;
  rig.parameters.dead_volume_m3 = valves.dead_volume_m3;
  rig.parameters.running_friction_newtons = valves.running_friction_newtons;
  rig.parameters.seal_friction_fraction = valves.seal_friction_fraction;
  rig.valve_conductance = valves.conductance_m3_per_s_pa;
  rig.valve_critical_ratio = valves.critical_ratio;
  rig.valve_opening_seconds = valves.opening_seconds;
  return rig;
}

analysis::PlanConditions conditions_of(const daq::Setup& setup) {
  return {0.0, setup.trial.vehicle_mass_kg, setup.reservoir_volume_m3, setup.fast_valves->count};
}

double peak_limit(const daq::Setup& setup) {
  for (const analysis::Criterion& c : setup.trial.criteria)
    if (c.metric == "peak_acceleration_g" && c.upper) return *c.upper;
  return 0.0;
}

const daq::Setup* newest_setup(const CampaignRows& rows) {
  const auto found = std::find_if(rows.trials.rbegin(), rows.trials.rend(),
                                  [](const auto& trial) { return trial.setup && trial.setup->fast_valves; });
  return found == rows.trials.rend() ? nullptr : found->setup.get();
}

}  // namespace

Result<PlanMade> charge_plan_of(const CampaignRows& rows, const std::vector<std::int64_t>& leave_out) {
  const daq::Setup* newest = newest_setup(rows);
  if (newest == nullptr)
    return complain("no trial has a setup that describes its fast valves", rows.file,
                    "add [fast_valves] to the setup (docs/setup.md) and record trials with it");
  PlanMade made;
  for (const ReportTrial& trial : rows.trials) {
    const std::string who = "trial " + std::to_string(trial.row.number);
    if (std::ranges::find(leave_out, trial.row.number) != leave_out.end()) continue;
    if (!trial.judged || trial.result.verdict == analysis::Verdict::void_) {
      made.left_out.push_back(who + ": " + (trial.judged ? "void" : "not judged"));
    } else if (!trial.setup || !same_rig(*trial.setup, *newest)) {
      made.left_out.push_back(who + ": another rig");
    } else if (auto used = analysis::recorded_stroke(trial.row.number, trial.result, conditions_of(*trial.setup)); !used) {
      made.left_out.push_back(who + ": " + used.error());
    } else {
      made.trials.push_back(*used);
    }
  }
  auto plan = analysis::fit_charge_plan(rig_of(*newest), made.trials);
  if (!plan) return tl::unexpected{plan.error()};
  made.plan = std::move(*plan);
  made.conditions = made.trials.back().conditions;
  made.charge_limit_pascals = std::min(newest->charge.maximum_pascals, 0.9 * newest->charge.relief_pascals);
  made.peak_limit_g = peak_limit(*newest);
  return made;
}

}  // namespace coldstroke::gui
