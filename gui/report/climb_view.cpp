// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/climb_view.hpp"

#include <cmath>

#include "analysis/trial/speed_agreement.hpp"
#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

const analysis::Measured* measured(const ReportTrial& trial, const char* name) {
  const analysis::Metric* metric = trial.result.metric(name);
  return metric == nullptr ? nullptr : metric->measured();
}

std::string value_words(const ReportTrial& trial, const char* name) {
  const analysis::Measured* m = measured(trial, name);
  const MetricWords* words = metric_words(name);
  if (m == nullptr || words == nullptr) return "";
  const double half = 0.5 * (m->high_95 - m->low_95);
  return std::string{words->title} + ' ' + with_uncertainty(m->value * words->per_unit, half * words->per_unit) + ' ' +
         std::string{words->unit};
}

}  // namespace

Result<ClimbView> climb_view(const ReportTrial& trial) {
  const std::string where = "trial " + std::to_string(trial.row.number);
  const analysis::Measured* speed = trial.judged ? analysis::best_exit_speed(trial.result.metrics) : nullptr;
  if (speed == nullptr || !(speed->value > 0.0)) return complain("no exit speed is known", where, "look at the trial's findings");
  if (!trial.setup || !trial.setup->trial.coast)
    return complain("its setup has no [coast]", where, "add the table (docs/setup.md) and judge the trial again with that setup");
  const analysis::TrialSetup& setup = trial.setup->trial;
  const analysis::VerticalPart part = analysis::vertical_part(
      {setup.vehicle_mass_kg, setup.coast->drag_area_m2, setup.coast->air_density_kg_per_m3}, speed->value, setup.tilt_radians);
  ClimbView view;
  view.apex = analysis::apex_of(part.coast, part.exit_speed_mps);
  for (int i = 0; i <= 20'000; ++i) {
    const double t = 0.02 * i;
    const analysis::CoastPoint p = analysis::coast_at(part.coast, part.exit_speed_mps, t);
    if (p.height_metres < 0.0) break;
    view.profile.push_back({t, p.height_metres, p.speed_mps});
  }
  if (setup.ignition_window) view.window = analysis::ignition_window(part, *setup.ignition_window);
  const analysis::Measured *stroke = measured(trial, "stroke_time_seconds"),
                           *latest = measured(trial, "latest_safe_decision_seconds"),
                           *latency = measured(trial, "detector_latency_seconds"),
                           *onset = measured(trial, "thrust_onset_seconds");
  if (onset != nullptr)
    view.onset_seconds = onset->value, view.onset_early_seconds = onset->low_95, view.onset_late_seconds = onset->high_95;
  if (latency != nullptr && stroke != nullptr) view.decision_seconds = latency->value - stroke->value;
  if (latest != nullptr && stroke != nullptr) view.latest_safe_decision_seconds = latest->value - stroke->value;
  for (const char* name :
       {"coast_apex_metres", "coast_apex_time_seconds", "thrust_onset_seconds", "onset_height_metres", "onset_speed_mps",
        "onset_in_window_probability", "latest_safe_decision_seconds", "onset_tilt_radians"})
    if (std::string words = value_words(trial, name); !words.empty()) view.sentences.push_back(std::move(words));
  if (view.window)
    view.sentences.push_back("Window from " + decimal(view.window->opens_seconds, 3) + " s to " +
                             decimal(view.window->closes_seconds, 3) + " s after separation.");
  else if (setup.ignition_window)
    view.sentences.push_back("No window: at no instant of this climb is the vehicle high and fast enough.");
  if (trial.result.firing)
    view.sentences.push_back(std::string{"Firing chain: "} + word(trial.result.firing->outcome) + ". " +
                             trial.result.firing->reason);
  return view;
}

}  // namespace coldstroke::gui
