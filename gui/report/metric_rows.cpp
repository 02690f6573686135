// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/metric_rows.hpp"

#include <algorithm>
#include <cmath>

#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

using analysis::Criterion;
using analysis::Judgement;
using analysis::Metric;
using analysis::TrialResult;
using analysis::Verdict;

double shown_per_unit(std::string_view metric) {
  const MetricWords* words = metric_words(metric);
  return words == nullptr ? 1.0 : words->per_unit;
}

std::string limits(std::optional<double> lower, std::optional<double> upper, double per_unit) {
  if (lower && upper) return limit_number(*lower * per_unit) + " to " + limit_number(*upper * per_unit);
  if (upper) return "≤ " + limit_number(*upper * per_unit);
  if (lower) return "≥ " + limit_number(*lower * per_unit);
  return {};
}

MarginScale margin_scale(const analysis::Measured& measured, const Criterion& criterion, double per_unit) {
  MarginScale scale;
  scale.value = measured.value * per_unit;
  scale.interval_low = measured.low_95 * per_unit;
  scale.interval_high = measured.high_95 * per_unit;
  if (criterion.lower) scale.lower = *criterion.lower * per_unit;
  if (criterion.upper) scale.upper = *criterion.upper * per_unit;
  // With one limit only, the stretch reaches from it to well past the value, so that the distance can be seen.
  const double from = scale.lower ? *scale.lower : std::min(0.0, scale.value);
  const double to = scale.upper ? *scale.upper : std::max(scale.value, from) + 0.5 * std::abs(scale.value - from);
  const double room = to > from ? 0.25 * (to - from) : std::max(1.0e-9, std::abs(to));
  scale.low = scale.lower ? from - room : from;
  scale.high = scale.upper ? to + room : to;
  if (scale.high <= scale.low) scale.high = scale.low + room;
  return scale;
}

void put_value(MetricRow& row, const Metric& metric) {
  const MetricWords* words = metric_words(metric.name);
  row.name = metric.name;
  row.title = words == nullptr ? metric.name : std::string{words->title};
  row.unit = words == nullptr ? metric.unit : std::string{words->unit};
  row.meaning = (words == nullptr ? std::string{} : std::string{words->meaning} + "\n") + "How: " + metric.method;
  if (const analysis::Measured* measured = metric.measured()) {
    const double per_unit = shown_per_unit(metric.name);
    const double half_width = 0.5 * (measured->high_95 - measured->low_95) * per_unit;
    row.value = measured->at_least ? "≥ " + significant(measured->value * per_unit, 3)
                                   : with_uncertainty(measured->value * per_unit, half_width);
    if (measured->beyond_calibration) {
      row.value += " !";
      row.meaning += "\n! Extrapolated: readings lie beyond the span that was calibrated.";
    }
  } else {
    row.absent = std::get<analysis::Absent>(metric.value).reason;
  }
}

const char* outcome_phrase(analysis::Outcome outcome) {
  switch (outcome) {
    case analysis::Outcome::in_time:
      return "in time";
    case analysis::Outcome::early:
      return "early";
    case analysis::Outcome::late:
      return "late";
    case analysis::Outcome::missed:
      return "missed";
    case analysis::Outcome::unknown:
      break;
  }
  return "unknown";
}

/// Without a stroke there is no event to count in.
void put_count(MetricRow& row, const Judgement& judgement, const char* some) {
  if (judgement.verdict == Verdict::pass)
    row.value = "none in the event";
  else if (judgement.value)
    row.value = some;
  else
    row.absent = judgement.reason;
}

MetricRow criterion_row(const Judgement& judgement, const TrialResult& result) {
  const Criterion& criterion = judgement.criterion;
  MetricRow row;
  row.title = criterion.name;
  row.meaning = criterion.name;
  switch (criterion.kind) {
    case Criterion::Kind::metric:
      if (const Metric* metric = result.metric(criterion.metric)) {
        put_value(row, *metric);
        row.meaning = criterion.name + "\n" + row.meaning;
        row.limit = limits(criterion.lower, criterion.upper, shown_per_unit(criterion.metric));
        if (metric->measured() != nullptr)
          row.margin = margin_scale(*metric->measured(), criterion, shown_per_unit(criterion.metric));
      } else {
        row.absent = "this result holds no metric named " + criterion.metric;
      }
      break;
    case Criterion::Kind::detector_in_time:
      row.title = "Detector outcome";
      row.value = outcome_phrase(result.outcome);
      row.limit = "in time";
      break;
    case Criterion::Kind::no_lost_samples:
      row.title = "Lost samples";
      put_count(row, judgement, "lost in the event");
      row.limit = "none";
      break;
    case Criterion::Kind::nothing_saturated:
      row.title = "Saturation";
      put_count(row, judgement, "in the event");
      row.limit = "none";
      break;
    case Criterion::Kind::alignment_within:
      row.title = "Clock alignment";
      row.unit = "ms";
      if (judgement.value)
        row.value = significant(*judgement.value * 1.0e3, 2);
      else
        row.absent = judgement.reason;
      row.limit = limits(criterion.lower, criterion.upper, 1.0e3);
      break;
    case Criterion::Kind::would_fire:
      row.title = "Firing chain";
      row.limit = "would fire";
      if (result.firing) {
        row.value = word(result.firing->outcome);
        std::ranges::replace(row.value, '_', ' ');
      } else {
        row.absent = judgement.reason;
      }
      break;
  }
  row.reason = judgement.reason;
  row.verdict = judgement.verdict;
  return row;
}

const Judgement* first_with(const TrialResult& result, Verdict verdict) {
  const auto found =
      std::find_if(result.criteria.begin(), result.criteria.end(), [&](const auto& one) { return one.verdict == verdict; });
  return found == result.criteria.end() ? nullptr : &*found;
}

std::string others(const TrialResult& result, Verdict verdict) {
  const auto count =
      std::count_if(result.criteria.begin(), result.criteria.end(), [&](const auto& one) { return one.verdict == verdict; });
  if (count <= 1) return {};
  return " (and " + std::to_string(count - 1) + " more)";
}

std::string named(const Judgement& judgement) {
  if (judgement.reason.find(judgement.criterion.name) != std::string::npos) return judgement.reason;
  return judgement.criterion.name + ": " + judgement.reason;
}

/// What its result says, whatever people did with it since.
std::string judged_sentence(const ReportTrial& trial) {
  if (!trial.judged) return trial.why_not_judged.empty() ? "No result is stored for this trial." : trial.why_not_judged;
  const TrialResult& result = trial.result;
  if (result.criteria.empty()) return "The setup states no criteria: nothing was judged.";
  switch (result.verdict) {
    case Verdict::fail:
      if (const Judgement* one = first_with(result, Verdict::fail)) return named(*one) + others(result, Verdict::fail);
      break;
    case Verdict::void_:
      if (const Judgement* one = first_with(result, Verdict::void_)) return named(*one) + others(result, Verdict::void_);
      break;
    case Verdict::pass:
      return "All " + std::to_string(result.criteria.size()) + " criteria hold.";
  }
  return "The result names no criterion for its verdict.";
}

}  // namespace

// A limit is a number a person typed: written back as short as it is exact to nine digits.
std::string limit_number(double value) {
  std::string text = decimal(value, std::min(9, decimals_for(value, 9)));
  if (text.find('.') != std::string::npos) text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

double MarginScale::place(double shown) const { return std::clamp((shown - low) / (high - low), 0.0, 1.0); }

std::string limit_text(const Criterion& criterion) {
  const bool alignment = criterion.kind == Criterion::Kind::alignment_within;
  const MetricWords* words = metric_words(criterion.metric);
  const std::string text = limits(criterion.lower, criterion.upper, alignment ? 1.0e3 : shown_per_unit(criterion.metric));
  if (text.empty()) return text;
  const std::string unit = alignment ? "ms" : words == nullptr ? "" : std::string{words->unit};
  return unit.empty() ? text : text + " " + unit;
}

std::vector<MetricRow> metric_rows(const TrialResult& result) {
  std::vector<MetricRow> rows;
  for (const Judgement& judgement : result.criteria) rows.push_back(criterion_row(judgement, result));
  for (const Metric& metric : result.metrics) {
    const bool judged = std::any_of(result.criteria.begin(), result.criteria.end(), [&](const Judgement& judgement) {
      return judgement.criterion.kind == Criterion::Kind::metric && judgement.criterion.metric == metric.name;
    });
    if (judged) continue;
    put_value(rows.emplace_back(), metric);
  }
  return rows;
}

std::string validity(const daq::Calibration& calibration, const std::string& day) {
  const std::string& until = calibration.valid_until;
  if (until.empty()) return "not stated";
  return until < day ? until + ", EXPIRED by " + day : until;  // ISO dates sort as text
}

std::vector<std::string> calibrations_used(const ReportTrial& trial) {
  std::vector<std::string> lines;
  if (trial.setup == nullptr) return lines;
  for (const daq::ChannelSetup& channel : trial.setup->channels) {
    const daq::Calibration& used = channel.calibration;
    lines.push_back(channel.name + ": " + (used.reference.empty() ? "no reference stated" : used.reference) + "; valid until " +
                    validity(used, trial.row.started_utc.substr(0, 10)));
  }
  return lines;
}

std::string verdict_word(const ReportTrial& trial) {
  if (trial.hand_void) return analysis::word(Verdict::void_);
  if (trial.judged) return analysis::word(trial.result.verdict);
  if (trial.row.status == daq::TrialStatus::recorded) return "not judged";
  return daq::word(trial.row.status);
}

std::string verdict_sentence(const ReportTrial& trial) {
  if (!trial.hand_void) return judged_sentence(trial);
  return "VOIDED BY HAND by " + trial.hand_void->person + ": " + trial.hand_void->reason + ". It had been judged " +
         trial.hand_void->judged_before + ": " + judged_sentence(trial);
}

}  // namespace coldstroke::gui
