// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/exported_trial.hpp"

#include <nlohmann/json.hpp>

#include "daq/record/csv_columns.hpp"
#include "daq/record/trial_archive.hpp"

namespace coldstroke::daq {

Result<TrialNumbers> chosen_trials(const Campaign& campaign, const TrialNumbers& asked) {
  if (!asked.empty()) {
    for (const std::int64_t number : asked)
      if (auto row = campaign.trial(number); !row) return tl::unexpected{row.error()};
    return asked;
  }
  auto rows = campaign.trials();
  if (!rows) return tl::unexpected{rows.error()};
  TrialNumbers numbers;
  for (const TrialRow& row : *rows)
    if (row.status == TrialStatus::recorded) numbers.push_back(row.number);
  if (numbers.empty()) return complain("There is no recorded trial to write out.", "the campaign", "Run or import trials first.");
  return numbers;
}

Result<ExportedTrial> read_exported(const Campaign& campaign, std::int64_t number) {
  ExportedTrial out;
  auto row = campaign.trial(number);
  if (!row) return tl::unexpected{row.error()};
  out.row = std::move(*row);
  auto text = campaign.setup_text(number);
  if (!text) return tl::unexpected{text.error()};
  out.setup_text = std::move(*text);
  auto judged = judge_trial(campaign, number);
  if (!judged) return tl::unexpected{judged.error()};
  out.traces = std::move(judged->traces);
  out.result = std::move(judged->result);
  auto results = campaign.results(number);
  if (!results) return tl::unexpected{results.error()};
  out.result_json = result_json(out.result);
  if (!results->empty()) {
    out.result_json = results->back().json;
    if (auto stored = parse_result_json(out.result_json)) out.result = std::move(*stored);
  }
  auto set_aside = campaign.hand_void(number);
  if (!set_aside) return tl::unexpected{set_aside.error()};
  if (*set_aside)
    out.void_words = (*set_aside)->reason + " (" + (*set_aside)->person + ", " + (*set_aside)->created_utc +
                     "; judged before: " + (*set_aside)->judged_before + ")";
  return out;
}

std::string_view quantity_word(analysis::Quantity quantity) {
  switch (quantity) {
    case analysis::Quantity::force:
      return "force";
    case analysis::Quantity::gauge_pressure:
      return "gauge pressure";
    case analysis::Quantity::acceleration:
      return "specific force";
    case analysis::Quantity::current:
      return "current";
    case analysis::Quantity::angular_rate:
      return "angular rate";
    case analysis::Quantity::temperature:
      return "temperature";
    case analysis::Quantity::other:
      break;
  }
  return "other";
}

std::string trial_name(std::int64_t number) {
  const std::string digits = std::to_string(number);
  return "trial_" + std::string(digits.size() < 4 ? 4 - digits.size() : 0, '0') + digits;
}

std::string timing_json(const analysis::TraceSet& traces) {
  constexpr const char* kSources[] = {"none", "live", "memory", "imported"};
  nlohmann::ordered_json out;
  out["alignment_method"] = traces.alignment_method;
  if (traces.release_commanded_seconds) out["release_commanded_seconds"] = *traces.release_commanded_seconds;
  const analysis::DetectorRecord& detector = traces.detector;
  out["detector"] = {{"source", kSources[static_cast<int>(detector.source)]},
                     {"decisions_seconds", detector.decisions_seconds},
                     {"alignment_standard_uncertainty_seconds", detector.alignment_standard_uncertainty_seconds},
                     {"polling_period_seconds", detector.polling_period_seconds},
                     {"record_end_seconds", detector.record_end_seconds}};
  out["traces"] = nlohmann::ordered_json::array();
  for (const analysis::Trace& trace : traces.traces) {
    nlohmann::ordered_json one{{"name", trace.name},
                               {"role", column_word(trace.role)},
                               {"start_seconds", trace.start_seconds},
                               {"period_seconds", trace.period_seconds},
                               {"alignment_standard_uncertainty_seconds", trace.alignment_standard_uncertainty_seconds},
                               {"gain_standard_uncertainty", trace.gain_standard_uncertainty},
                               {"zero_standard_uncertainty", trace.zero_standard_uncertainty},
                               {"resolution", trace.resolution},
                               {"saturated", nlohmann::ordered_json::array()}};
    if (trace.calibrated) one["calibrated"] = {trace.calibrated->low, trace.calibrated->high};
    for (const analysis::IndexRun& run : trace.saturated) one["saturated"].push_back({run.first, run.last});
    out["traces"].push_back(std::move(one));
  }
  return out.dump(2) + "\n";
}

std::string export_readme(const std::string& campaign_name, const ChainHead& head) {
  return "Traces and results of the campaign \"" + campaign_name +
         "\"\n\n"
         "Unarmed ejections of an inert vehicle from a launch tube by compressed gas, recorded and judged by Coldstroke.\n"
         "Written from the campaign file, which stays the record: it holds the bytes as they crossed the wires and the chain of\n"
         "digests. When this was written that chain ended, after " +
         std::to_string(head.entries) + " entries, in\n" + head.hex +
         "\n\n"
         "All numbers are SI: seconds, newtons, pascals (gauge: above the surrounding air), metres per second squared, amperes.\n"
         "Accelerations are specific force: at rest upright the vehicle reads +9.80665. Sample k of a trace was taken at\n"
         "start_seconds + k * period_seconds. Time 0 of a trial is the command that opened the fast valves, where it is known, "
         "on the\n"
         "rig board's clock; alignment_standard_uncertainty_seconds says how well the flight board's traces are placed on it.\n"
         "A sample that was lost on the way is empty (CSV) or NaN (HDF5). What could not be had is absent, never zero.\n"
         "gain_standard_uncertainty is relative and common to all samples of a trace; zero_standard_uncertainty is in the\n"
         "trace's unit. \"verdict\" is pass, fail or void. A trial voided by hand keeps its result and says who voided it and "
         "why.\n";
}

}  // namespace coldstroke::daq
