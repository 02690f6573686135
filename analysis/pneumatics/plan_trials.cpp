// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/pneumatics/plan_trials.hpp"

#include "analysis/trial/speed_agreement.hpp"

namespace coldstroke::analysis {
namespace {

std::optional<Known> known(const TrialResult& result, const char* name) {
  const Metric* metric = result.metric(name);
  const Measured* m = metric == nullptr ? nullptr : metric->measured();
  if (m == nullptr || m->at_least || !(m->value > 0.0)) return std::nullopt;
  return Known{m->value, m->standard_uncertainty};
}

}  // namespace

Result<RecordedStroke, std::string> recorded_stroke(std::int64_t trial, const TrialResult& result, PlanConditions conditions) {
  const auto charge = known(result, "release_pressure_pascals");
  if (!charge) return tl::unexpected<std::string>{"its release pressure is not known"};
  const Measured* speed = best_exit_speed(result.metrics);
  if (speed == nullptr || !(speed->value > 0.0)) return tl::unexpected<std::string>{"its exit speed is not known"};
  conditions.charge_gauge_pascals = charge->value;
  RecordedStroke out;
  out.trial = trial;
  out.conditions = conditions;
  out.exit_speed_mps = Known{speed->value, speed->standard_uncertainty};
  out.stroke_time_seconds = known(result, "stroke_time_seconds");
  out.peak_acceleration_g = known(result, "peak_acceleration_g");
  out.droop_pascals = known(result, "droop_pascals");
  return out;
}

}  // namespace coldstroke::analysis
