// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/gui/invented_flight.hpp"

#include <random>

#include "analysis/flight/climb.hpp"
#include "analysis/pneumatics/stroke_model.hpp"
#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

using analysis::Measured;
using analysis::Metric;

std::shared_ptr<const daq::Setup> setup() {
  static const auto made = std::make_shared<const daq::Setup>(daq::parse_setup(daq::virtual_setup_text(), "invented").value());
  return made;
}

Metric metric(const char* name, const char* unit, double value, double u) {
  return {name, unit, "invented", Measured{value, u, value - 1.96 * u, value + 1.96 * u, false, {{"invented", u, unit, u}}}};
}

analysis::StrokeSummary stroke(double charge_gauge_pascals) {
  analysis::StrokeParameters q;
  q.valves.assign(2, analysis::Valve{8.0e-8, 0.3, 0.006, 0.010});
  return analysis::simulate_stroke(q, charge_gauge_pascals, 1.0e-4);
}

}  // namespace

double invented_rig_speed_mps(double charge_gauge_pascals) { return stroke(charge_gauge_pascals).exit_speed_mps; }

ReportTrial invented_flight() {
  ReportTrial trial = invented_trial();
  trial.setup = setup();
  trial.result.metrics = {metric("exit_speed_from_force_mps", "m/s", 14.53, 0.05),
                          metric("stroke_time_seconds", "s", 0.0385, 2e-5),
                          metric("detector_latency_seconds", "s", 0.0182, 3e-4)};
  const analysis::Climb climb = analysis::climb_of(setup()->trial, trial.result.metrics);
  trial.result.metrics.insert(trial.result.metrics.end(), climb.metrics.begin(), climb.metrics.end());
  return trial;
}

CampaignRows invented_charges() {
  std::mt19937_64 random{11};
  std::normal_distribution<double> unit;
  CampaignRows rows{"/demo/charges.coldstroke", "Charges", {}};
  for (int i = 0; i < 9; ++i) {
    const double charge = (6.0 + 0.35 * i) * 1.0e5;
    const analysis::StrokeSummary s = stroke(charge);
    ReportTrial trial;
    trial.row.number = i + 1;
    trial.row.status = daq::TrialStatus::recorded;
    trial.setup = setup();
    trial.judged = true;
    trial.result.verdict = analysis::Verdict::pass;
    const auto seen = [&](const char* name, const char* in, double value, double part) {
      return metric(name, in, value * (1.0 + part * unit(random)), part * value);
    };
    trial.result.metrics = {seen("release_pressure_pascals", "Pa", charge, 0.0005),
                            seen("exit_speed_from_force_mps", "m/s", s.exit_speed_mps, 0.003),
                            seen("stroke_time_seconds", "s", *s.exit_seconds - *s.first_motion_seconds, 0.002),
                            seen("peak_acceleration_g", "g", s.peak_acceleration_mps2 / analysis::kStandardGravity + 1.0, 0.006),
                            seen("droop_pascals", "Pa", charge + 101325.0 - s.reservoir_at_exit_pascals, 0.004)};
    rows.trials.push_back(std::move(trial));
  }
  ReportTrial none = rows.trials.back();
  none.row.number = 10;
  none.result.verdict = analysis::Verdict::void_;
  rows.trials.push_back(std::move(none));
  return rows;
}

}  // namespace coldstroke::gui
