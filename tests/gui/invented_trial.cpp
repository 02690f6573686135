// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/gui/invented_trial.hpp"

#include <algorithm>
#include <cmath>
#include <random>

namespace coldstroke::gui {
namespace {

using analysis::Criterion;
using analysis::Measured;
using analysis::Metric;
using analysis::Trace;
using analysis::Verdict;

constexpr double kMotion = 1.0, kStroke = 0.045, kEnd = 4.0, kG = 9.80665;

template <class Shape>
Trace trace(const char* name, analysis::Quantity quantity, analysis::Role role, double period, double noise, Shape shape) {
  Trace made;
  made.name = name;
  made.quantity = quantity;
  made.role = role;
  made.period_seconds = period;
  std::mt19937 random{static_cast<unsigned>(role) + 7U};
  std::normal_distribution<double> scatter{0.0, noise};
  const auto count = static_cast<std::size_t>(kEnd / period);
  for (std::size_t k = 0; k < count; ++k)
    made.samples.push_back(shape(static_cast<double>(k) * period - kMotion) + scatter(random));
  return made;
}

// 0 before the stroke, up in its first fifth, falling to a third at its end.
double push(double t) {
  if (t < 0.0 || t > kStroke) return 0.0;
  const double u = t / kStroke;
  return u < 0.2 ? std::sin(u / 0.2 * M_PI / 2.0) : 1.0 - 0.65 * (u - 0.2) / 0.8;
}

Metric metric(const char* name, const char* unit, double value, double standard_uncertainty) {
  return {name, unit, "invented",
          Measured{value,
                   standard_uncertainty,
                   value - 1.96 * standard_uncertainty,
                   value + 1.96 * standard_uncertainty,
                   false,
                   {{"gain", 0.8, unit, 0.8 * standard_uncertainty}, {"scatter", 0.6, unit, 0.6 * standard_uncertainty}}}};
}

analysis::Judgement judge(const char* name, const char* metric_name, std::optional<double> lower, std::optional<double> upper,
                          double value, const char* reason) {
  analysis::Judgement made;
  made.criterion = {Criterion::Kind::metric, name, metric_name, lower, upper};
  made.value = value;
  const bool holds = (!lower || value >= *lower) && (!upper || value <= *upper);
  made.verdict = holds ? Verdict::pass : Verdict::fail;
  made.reason = reason;
  return made;
}

analysis::TrialResult result(const Invented& about) {
  analysis::TrialResult made;
  made.metrics = {
      metric("first_motion_seconds", "s", kMotion, 0.00012),
      metric("stroke_time_seconds", "s", kStroke, 0.00021),
      metric("impulse_newton_seconds", "N s", 15.84, 0.083),
      metric("peak_force_newtons", "N", 1.2 * kG * about.peak_g, 2.4),
      metric("peak_acceleration_g", "g", about.peak_g, 0.21),
      metric("mean_acceleration_g", "g", about.peak_g * 0.62, 0.14),
      metric("exit_speed_from_force_mps", "m/s", 13.2, 0.07),
      metric("exit_speed_from_acceleration_mps", "m/s", 13.34, 0.11),
      {"exit_speed_from_stroke_mps", "m/s", "invented", analysis::Absent{"the stroke end was not seen on the force trace"}},
      metric("droop_pascals", "Pa", 1.42e5, 1.1e3),
      metric("detector_latency_seconds", "s", about.latency_seconds, 0.00034)};
  const bool late = about.latency_seconds > 0.040;
  made.outcome = late ? analysis::Outcome::late : analysis::Outcome::in_time;
  made.criteria.push_back(
      judge("Exit speed", "exit_speed_from_force_mps", 12.0, 16.0, 13.2, "13.20 m/s lies 1.20 m/s inside 12 to 16 m/s"));
  made.criteria.push_back(
      judge("Peak acceleration", "peak_acceleration_g", {}, 40.0, about.peak_g,
            about.peak_g > 40.0 ? "43.1 g is 3.1 g above the limit of 40 g" : "31.2 g lies 8.8 g below the limit of 40 g"));
  made.criteria.push_back(judge("Latency", "detector_latency_seconds", {}, 0.040, about.latency_seconds,
                                late ? "the decision came 1.84 s after first motion, 1.80 s past the limit of 40 ms"
                                     : "18.2 ms lies 21.8 ms below the limit of 40 ms"));
  analysis::Judgement outcome;
  outcome.criterion = {Criterion::Kind::detector_in_time, "Detector in time", {}, {}, {}};
  outcome.verdict = late ? Verdict::fail : Verdict::pass;
  outcome.reason = late ? "late" : "in time";
  made.criteria.push_back(outcome);
  analysis::Judgement lost;
  lost.criterion = {Criterion::Kind::no_lost_samples, "No lost samples", {}, {}, {}};
  lost.verdict = about.lost_samples ? Verdict::void_ : Verdict::pass;
  lost.value = about.lost_samples ? 40.0 : 0.0;
  lost.reason = about.lost_samples ? "40 samples of force were lost during the stroke"
                                   : "none lost from 10 ms before first motion to 10 ms after separation";
  made.criteria.push_back(lost);
  if (about.lost_samples) made.findings.push_back({"lost_samples", "force", "40 samples lost from 1.010 s to 1.014 s"});
  made.findings.push_back({"clock_disagreement", "", "shared pulse and clock exchange differ by 0.1 ms, within 0.4 ms"});
  made.verdict =
      std::any_of(made.criteria.begin(), made.criteria.end(), [](const auto& one) { return one.verdict == Verdict::fail; })
          ? Verdict::fail
      : about.lost_samples ? Verdict::void_
                           : Verdict::pass;
  made.marks = {kMotion - 0.006,         kMotion, kMotion + 0.009, kMotion + kStroke, kMotion + about.latency_seconds,
                kMotion + kStroke + 1.31};
  return made;
}

daq::TrialRow row(std::int64_t number) {
  daq::TrialRow made;
  made.number = number;
  made.status = daq::TrialStatus::recorded;
  made.started_utc = "2031-05-0" + std::to_string(1 + number % 9) + "T09:" + std::to_string(10 + number) + ":00Z";
  made.ended_utc = made.started_utc;
  made.virtual_rig = true;
  made.origin = "scenario steady, seed " + std::to_string(number);
  made.setup_sha256 = "3b1f0c5e9d2a47e86b1f0c5e9d2a47e86b1f0c5e9d2a47e86b1f0c5e9d2a47e8";
  return made;
}

}  // namespace

analysis::TraceSet invented_traces(double peak_g) {
  using analysis::Quantity;
  using analysis::Role;
  analysis::TraceSet set;
  const double peak = (peak_g - 1.0) * kG;
  set.traces.push_back(
      trace("load_cell", Quantity::force, Role::force, 1.0e-4, 0.8, [&](double t) { return 1.2 * peak * push(t); }));
  set.traces.push_back(trace("supply", Quantity::gauge_pressure, Role::supply_pressure, 1.0e-4, 400.0, [](double t) {
    return 7.02e5 - (t < 0.0 ? 0.0 : t > kStroke ? 1.42e5 : 1.42e5 * t / kStroke);
  }));
  set.traces.push_back(trace("chamber", Quantity::gauge_pressure, Role::chamber_pressure, 1.0e-4, 400.0,
                             [](double t) { return t > kStroke ? 3.1e5 * std::exp(-(t - kStroke) / 0.02) : 5.2e5 * push(t); }));
  set.traces.push_back(trace("accelerometer", Quantity::acceleration, Role::vehicle_acceleration, 5.0e-4, 0.6, [&](double t) {
    if (t > 2.7 && t < 2.71) return 18.0 * kG;  // landing
    return t < 0.0 || t > 2.71 ? kG : t > kStroke ? 0.2 : kG + peak * push(t);
  }));
  set.release_commanded_seconds = kMotion - 0.006;
  set.alignment_method = "clock exchange";
  return set;
}

ReportTrial invented_trial(const Invented& about) {
  ReportTrial made;
  made.row = row(about.number);
  made.traces = invented_traces(about.peak_g);
  made.result = result(about);
  made.judged = true;
  if (about.lost_samples) made.traces.traces[0].missing.push_back({10100, 10140});
  made.decode_notes = {"flight board read back from its own memory, 8000 samples", "aligned by clock exchange, ±0.2 ms"};
  made.notes = {{"2031-05-04T09:31:00Z", "R. Adeyemi", "wind rose after the count"}};
  return made;
}

ReportTrial invented_aborted(std::int64_t number) {
  ReportTrial made;
  made.row = row(number);
  made.row.status = daq::TrialStatus::aborted;
  made.why_not_judged = "Stopped before motion was seen: kept, not judged.";
  return made;
}

CampaignRows invented_campaign() {
  CampaignRows rows{"/demo/larch.coldstroke", "Larch ejections", {}};
  for (std::int64_t number = 1; number <= 24; ++number) {
    if (number == 9) {
      rows.trials.push_back(invented_aborted(number));
      continue;
    }
    Invented about;
    about.number = number;
    about.peak_g = number == 5 ? 43.1 : 30.0 + 0.3 * static_cast<double>(number % 7);
    about.latency_seconds = number == 17 ? 1.84 : 0.017 + 0.0004 * static_cast<double>(number * 5 % 11);
    about.lost_samples = number == 12;
    rows.trials.push_back(invented_trial(about));
    rows.trials.back().traces = {};
  }
  return rows;
}

std::vector<analysis::EvidenceTrial> invented_evidence() {
  using analysis::statistics::CountedVerdict;
  std::vector<analysis::EvidenceTrial> evidence;
  for (const ReportTrial& trial : invented_campaign().trials) {
    analysis::EvidenceTrial one;
    one.record.name = std::to_string(trial.row.number);
    one.record.configuration = {"k", {{"firmware", "3f9c", "3f9c"}}};
    const std::string word = verdict_word(trial);
    one.record.verdict = word == "pass"   ? CountedVerdict::pass
                         : word == "fail" ? CountedVerdict::fail
                         : word == "void" ? CountedVerdict::void_
                                          : CountedVerdict::aborted;
    one.result = trial.result;
    one.judged = trial.judged;
    one.day = "2031-05-04";
    one.elapsed_hours = static_cast<double>(trial.row.number);
    evidence.push_back(one);
  }
  return evidence;
}

WeighedCampaign invented_weighed() {
  WeighedCampaign out;
  out.trials = invented_evidence();
  out.evidence = analysis::weigh_campaign(out.trials).value();
  out.tested = {{"firmware", "larch-board 2.1"},     {"mass_kg", "1.5"},
                {"charge.low_bar", "7.8"},           {"charge.high_bar", "8.2"},
                {"inhibit_deadline_seconds", "0.3"}, {"detector.threshold_g", "4"}};
  return out;
}

Result<ReportTrial> InventedSource::trial(std::int64_t number) const {
  for (ReportTrial& trial : invented_campaign().trials) {
    if (trial.row.number != number) continue;
    if (trial.judged) trial.traces = invented_traces(trial.result.metric("peak_acceleration_g")->measured()->value);
    if (number == 12) trial.traces.traces[0].missing.push_back({10100, 10140});
    return trial;
  }
  return complain("There is no trial " + std::to_string(number) + ".", "/demo/larch.coldstroke", "Choose one from the list.");
}

}  // namespace coldstroke::gui
