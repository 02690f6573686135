// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/sheet.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daq/record/digest.hpp"
#include "daq/record/evidence_trials.hpp"
#include "gui/report/event_view.hpp"
#include "gui/report/figures.hpp"
#include "gui/report/html_report.hpp"
#include "gui/report/metric_figure.hpp"
#include "gui/report/metric_rows.hpp"
#include "gui/report/trace_figure.hpp"

namespace coldstroke::gui {
namespace {

using analysis::statistics::ChargeCheck;
using analysis::statistics::CountedVerdict;

std::string value_text(const ReportTrial& trial, std::string_view name) {
  const analysis::Metric* metric = trial.judged ? trial.result.metric(name) : nullptr;
  const analysis::Measured* measured = metric == nullptr ? nullptr : metric->measured();
  if (measured == nullptr) return "absent";
  const double per_unit = metric_words(name)->per_unit;
  return (measured->at_least ? "≥ " : "") +
         with_uncertainty(measured->value * per_unit, 0.5 * (measured->high_95 - measured->low_95) * per_unit);
}

std::string started(const daq::TrialRow& row) {
  std::string text = row.started_utc.substr(0, 16);
  std::ranges::replace(text, 'T', ' ');
  return text;
}

std::string percent(double part) { return decimal(100.0 * part, 0) + " %"; }

class Writer {
 public:
  explicit Writer(const SheetInput& input) : in_{input} {}

  Sheet write() {
    sheet_.title = "Verdict sheet: " + in_.campaign_name;
    sheet_.subtitle = "Campaign file " + in_.campaign_file + ", written " + in_.written_utc + " by coldstroke " +
                      in_.program_version + ". States what unarmed ejections of an inert vehicle showed; people decide.";
    sheet_.foot = "head of the chain " + in_.head.hex + ", entry " + std::to_string(in_.head.entries) +
                  " (coldstroke verify FILE --head ...)";
    integrity();
    purpose();
    demonstration();
    configuration();
    rig();
    criteria();
    every_trial();
    distributions();
    worst();
    if (in_.map) operating_map();
    departures();
    if (in_.handover) handover();
    cautions();
    signatures();
    return std::move(sheet_);
  }

 private:
  void heading(std::string words) { sheet_.blocks.emplace_back(SheetHeading{std::move(words)}); }
  void text(std::string words, TextTone tone = TextTone::plain) {
    if (!words.empty()) sheet_.blocks.emplace_back(SheetText{std::move(words), tone});
  }
  void list(std::vector<std::string> lines) {
    if (!lines.empty()) sheet_.blocks.emplace_back(SheetList{std::move(lines)});
  }
  void table(SheetTable made) { sheet_.blocks.emplace_back(std::move(made)); }

  void integrity();
  void purpose();
  void demonstration();
  void configuration();
  void rig();
  void criteria();
  void every_trial();
  void distributions();
  void worst();
  void operating_map();
  void departures();
  void handover();
  void cautions();
  void signatures();

  const SheetInput& in_;
  Sheet sheet_;
};

void Writer::integrity() {
  if (in_.integrity.findings.empty())
    return text("Every byte of the campaign file was checked before this was written: " + std::to_string(in_.integrity.trials) +
                    " trials, " + std::to_string(in_.integrity.raw_rows) + " raw rows, as they were recorded.",
                TextTone::muted);
  text(
      "THE CAMPAIGN FILE IS NOT AS IT WAS WRITTEN. What follows was read from an altered file and proves nothing. Restore the "
      "file from a copy and make the sheet again.",
      TextTone::banner);
  constexpr std::size_t kShown = 12;
  const auto& all = in_.integrity.findings;
  std::vector<std::string> lines(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(std::min(kShown, all.size())));
  if (all.size() > kShown) lines.push_back("and " + std::to_string(all.size() - kShown) + " more findings: coldstroke verify");
  list(std::move(lines));
}

void Writer::purpose() {
  if (std::ranges::any_of(in_.trials, [](const auto& trial) { return trial.row.virtual_rig; }))
    text(
        "VIRTUAL RIG. Some or all of these trials were simulated: no gas, no vehicle. They show that the bench works, not that a "
        "vehicle does.",
        TextTone::banner);
  heading("Purpose");
  text(in_.setup.purpose.empty() ? "No purpose is stated in the setup." : in_.setup.purpose);
}

void Writer::demonstration() {
  heading("What was shown");
  const auto& statement = in_.weighed.statement;
  text(statement.sentence, TextTone::strong);
  SheetTable goals{{"goal: reliability at confidence", "shown", "passes still needed", "bound reached at that confidence",
                    "the same, hand-voided counted as failed"},
                   {24, 9, 15, 22, 30},
                   {}};
  for (std::size_t k = 0; k < statement.goals.size(); ++k) {
    const auto& goal = statement.goals[k];
    const auto bound = [&](const auto& bounds) {
      return k < bounds.size()
                 ? "at least " + bound_text(bounds[k].at_least) + " (" + std::to_string(bounds[k].trials - bounds[k].failures) +
                       " of " + std::to_string(bounds[k].trials) + ")"
                 : std::string{"–"};
    };
    goals.rows.push_back({decimal(goal.goal.reliability, 2) + " at " + percent(goal.goal.confidence), goal.shown ? "yes" : "no",
                          goal.shown ? "0" : std::to_string(goal.passes_still_needed), bound(statement.bounds),
                          bound(statement.bounds_if_voided_had_failed)});
  }
  table(std::move(goals));
  text("One-sided Clopper-Pearson bounds; each counted trial is taken as independent of the others.", TextTone::muted);
  list(statement.notes);
  const auto& whole = in_.weighed.count.whole;
  text("Of all " + std::to_string(in_.trials.size()) + " trials: " + std::to_string(whole.passes) + " passed, " +
       std::to_string(whole.fails) + " failed, " + std::to_string(whole.voids) + " void, " + std::to_string(whole.aborted) +
       " aborted or interrupted." +
       (whole.void_share() ? " Void among void and judged: " + percent(*whole.void_share()) + "." : ""));
}

void Writer::configuration() {
  heading("What was tested");
  SheetTable parts{{"part", "in the last trial", "identity, SHA-256"}, {16, 52, 32}, {}};
  if (!in_.evidence.empty()) {
    for (const auto& part : in_.evidence.back().record.configuration.parts)
      parts.rows.push_back({part.part, part.words, daq::sha256_hex(part.identity).substr(0, 32)});
    parts.rows.push_back({"setup text", "of trial " + in_.evidence.back().record.name, in_.trials.back().row.setup_sha256});
  }
  for (const auto& [board, identity] :
       {std::pair{"rig board", &in_.rig_identity}, std::pair{"flight board", &in_.flight_identity}}) {
    const auto json = nlohmann::json::parse(*identity, nullptr, false);
    std::string words = "did not introduce itself";
    if (json.is_object() && json.contains("firmware_name"))
      words = json.value("firmware_name", "") + std::string{" "} + json.value("firmware_version", "") + ", board " +
              json.value("unique_id", "");
    parts.rows.push_back({board, words, identity->empty() ? "–" : daq::sha256_hex(*identity).substr(0, 32)});
  }
  table(std::move(parts));
  std::vector<std::string> runs;
  for (const auto& run : in_.weighed.count.runs) {
    runs.push_back("Trials " + in_.evidence[run.first].record.name + " to " + in_.evidence[run.last].record.name + ": " +
                   std::to_string(run.passes) + " passed, " + std::to_string(run.fails) + " failed, " +
                   std::to_string(run.voids) + " void, " + std::to_string(run.aborted) + " aborted." +
                   (run.begun_by ? " Begun by: " + run.begun_by->words : ""));
  }
  const std::size_t again = runs.empty() ? 0 : runs.size() - 1;
  text("The count began again " + (again == 1 ? "once" : std::to_string(again) + " times") + ":", TextTone::muted);
  list(std::move(runs));
}

void Writer::rig() {
  heading("Rig and calibration in force");
  text(in_.setup.rig_name + ". Declared charge " + decimal(in_.setup.charge.low_pascals * 1e-5, 2) + " to " +
       decimal(in_.setup.charge.high_pascals * 1e-5, 2) + " bar gauge, reservoir " +
       significant(in_.setup.reservoir_volume_m3 * 1e3, 4) + " litres.");
  SheetTable channels{{"channel", "gain, standard unc.", "zero, standard unc. (SI)", "calibrated against", "valid until"},
                      {16, 14, 18, 34, 18},
                      {}};
  const std::string last_day = in_.trials.empty() ? std::string{} : in_.trials.back().row.started_utc.substr(0, 10);
  for (const daq::ChannelSetup& channel : in_.setup.channels) {
    const auto& calibration = channel.calibration;
    channels.rows.push_back({channel.name, decimal(100.0 * calibration.gain_standard_uncertainty, 3) + " %",
                             significant(calibration.zero_standard_uncertainty, 3),
                             calibration.reference.empty() ? "not stated" : calibration.reference,
                             validity(calibration, last_day)});
  }
  table(std::move(channels));
  list(in_.corrections);
}

void Writer::criteria() {
  heading("Criteria of the last trial");
  SheetTable rows{{"criterion", "must hold"}, {40, 60}, {}};
  for (const analysis::Criterion& one : in_.setup.trial.criteria) {
    using Kind = analysis::Criterion::Kind;
    std::string limit = limit_text(one);
    if (one.kind == Kind::detector_in_time)
      limit =
          "decided in time: within " + significant(in_.setup.trial.decision_deadline_seconds * 1e3, 4) + " ms of first motion";
    else if (one.kind == Kind::no_lost_samples)
      limit = "no sample lost around the stroke";
    else if (one.kind == Kind::nothing_saturated)
      limit = "no channel at its end during the stroke";
    else if (const MetricWords* words = metric_words(one.metric))
      limit.insert(0, std::string{words->title} + " ");
    rows.rows.push_back({one.name, limit});
  }
  table(std::move(rows));
}

void Writer::every_trial() {
  heading("Every trial");
  SheetTable rows{{"trial", "started (UTC)", "verdict", "detector", "latency ms", "peak g", "exit m/s", "charge bar", "why"},
                  {6, 18, 9, 10, 13, 14, 16, 10, 25},
                  {}};
  for (std::size_t k = 0; k < in_.trials.size(); ++k) {
    const ReportTrial& trial = in_.trials[k];
    const analysis::EvidenceTrial& evidence = in_.evidence[k];
    std::string why = verdict_sentence(trial);
    if (evidence.record.charge == ChargeCheck::outside) why.insert(0, "Charge outside its band, not counted. ");
    rows.rows.push_back({std::to_string(trial.row.number), started(trial.row), verdict_word(trial),
                         trial.judged ? analysis::word(trial.result.outcome) : "", value_text(trial, "detector_latency_seconds"),
                         value_text(trial, "peak_acceleration_g"), value_text(trial, "exit_speed_from_force_mps"),
                         evidence.charge_pascals ? decimal(*evidence.charge_pascals * 1e-5, 3) : "–", why});
  }
  if (rows.rows.empty()) text("No trial yet.");
  table(std::move(rows));
  text("Values with the half-width of their 95 % coverage interval.", TextTone::muted);
}

void Writer::distributions() {
  heading("Distributions and drift, counted trials of the present configuration");
  for (const auto& metric : in_.weighed.metrics) {
    if (metric.values.empty()) {
      text(metric.asked.limit.quantity + ": no counted trial has a value.", TextTone::muted);
      continue;
    }
    sheet_.blocks.emplace_back(drift_figure(metric, in_.evidence));
    list(drift_sentences(metric));
  }
  text(
      "A ring asks for a look: a run rule or an outlier test speaks. Several tests at once give false alarms; nothing was "
      "removed.",
      TextTone::muted);
}

void Writer::worst() {
  heading("The worst trial");
  if (!in_.worst) return text("No judged trial has traces.", TextTone::muted);
  const ReportTrial& trial = *in_.worst;
  text("Trial " + std::to_string(trial.row.number) + ": " + in_.worst_why + ". " + verdict_sentence(trial));
  if (auto figure = stroke_figure(trial)) sheet_.blocks.emplace_back(std::move(*figure));
}

void Writer::operating_map() {
  heading("Operating map of the board's own detector");
  const SheetMap& map = *in_.map;
  text("Replayed over the library in this campaign: " + map.library + ".");
  if (!map.figure) return text("No map: " + map.why_not + ".", TextTone::muted);
  text(map.present);
  sheet_.blocks.emplace_back(*map.figure);
  text(map.region);
  list(map.findings);
  text("A replay is arithmetic on recordings: it does not show that the board runs what it says, nor what was not recorded.",
       TextTone::muted);
}

void Writer::departures() {
  heading("Bypassed interlocks and hand voids");
  std::vector<std::string> lines = in_.bypasses;
  for (const auto& trial : in_.evidence)
    if (trial.record.hand_void)
      lines.push_back("Trial " + trial.record.name + " voided by hand: " + trial.record.hand_void->reason);
  if (lines.empty()) return text("None.");
  list(std::move(lines));
}

void Writer::handover() {
  heading("Intended for flight beside what was tested");
  if (in_.handover->differences.empty()) text("No difference is stated. What neither side states is not compared.");
  SheetTable rows{{"item", "tested", "intended", "what it does to the evidence"}, {17, 17, 17, 49}, {}};
  for (const auto& one : in_.handover->differences)
    rows.rows.push_back({one.key, one.tested.empty() ? "not stated" : one.tested,
                         one.intended.empty() ? "not stated" : one.intended, one.consequence});
  if (!rows.rows.empty()) table(std::move(rows));
  std::string same;
  for (const auto& item : in_.handover->same) same += (same.empty() ? "" : ", ") + item.key + " " + item.value;
  if (!same.empty()) text("Alike: " + same + ".", TextTone::muted);
}

void Writer::cautions() {
  heading("Cautions");
  list({"The verdict speaks of unarmed ejections with an inert vehicle under the stated setup and criteria, of nothing else.",
        "A motor, its ignition and flight loads were not tested.",
        "The bound holds for the conditions that were run. Other charges, temperatures, masses and settings are not shown.",
        "Trials that share a battery, a warm valve or an operator are not independent: read the drift section first.",
        "Stopping at a good moment flatters: the number of trials was to be set before the first.",
        "Software interlocks and this program's watchdogs are not a safety-rated function.",
        "What could not be had is absent, never zero. Void trials are not failures and not passes."});
}

void Writer::signatures() {
  heading("Signed");
  if (!in_.integrity.findings.empty()) return text("Nothing to sign: the campaign file was altered.", TextTone::strong);
  text("The signature confirms that the sheet was read together with its cautions. It does not replace a safety review.");
  std::vector<std::string> roles = in_.setup.checklist.roles;
  roles.emplace_back("decides on the flight");
  sheet_.blocks.emplace_back(SheetSignatures{roles});
}

}  // namespace

std::optional<Figure> stroke_figure(const ReportTrial& trial) {
  if (stacking_order(trial.traces).empty()) return std::nullopt;
  return traces_figure(trial.traces, trial.result.marks, stroke_stretch(trial.traces, trial.result.marks),
                       "stacked traces of trial " + std::to_string(trial.row.number));
}

std::optional<std::size_t> worst_trial(const SheetInput& input, std::string& why) {
  std::optional<std::size_t> worst;
  double latest = -1.0e300;
  for (const std::size_t place : input.weighed.counted) {
    if (input.evidence[place].record.verdict == CountedVerdict::fail) {
      why = "the first of the present configuration that failed";
      return place;
    }
    const analysis::Metric* metric = input.evidence[place].result.metric("detector_latency_seconds");
    const analysis::Measured* measured = metric == nullptr ? nullptr : metric->measured();
    if (!worst || (measured != nullptr && measured->value > latest)) {
      worst = place;
      if (measured != nullptr) latest = measured->value;
    }
  }
  why = "of the counted trials the one that decided latest";
  return worst;
}

Sheet verdict_sheet(const SheetInput& input) { return Writer{input}.write(); }

}  // namespace coldstroke::gui
