// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/evidence/campaign_evidence.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <set>
#include <tuple>

namespace coldstroke::analysis {

using namespace statistics;

namespace {

constexpr auto kLatency = "detector_latency_seconds";

bool is_judged(const EvidenceTrial& trial) {
  return trial.record.verdict == CountedVerdict::pass || trial.record.verdict == CountedVerdict::fail;
}

std::vector<std::size_t> counted_places(std::span<const EvidenceTrial> trials, const TrialRun& run) {
  std::vector<std::size_t> places;
  for (std::size_t place = run.first; place <= run.last && place < trials.size(); ++place) {
    if (is_judged(trials[place]) && std::ranges::find(run.charge_outside, place) == run.charge_outside.end())
      places.push_back(place);
  }
  return places;
}

const Measured* measured_of(const EvidenceTrial& trial, const WatchedMetric& watched) {
  const Metric* metric = trial.judged ? trial.result.metric(watched.metric) : nullptr;
  const Measured* measured = metric == nullptr ? nullptr : metric->measured();
  return measured == nullptr || !std::isfinite(measured->value) ? nullptr : measured;
}

std::optional<double> value_of(const EvidenceTrial& trial, const WatchedMetric& watched) {
  const Measured* measured = measured_of(trial, watched);
  if (measured == nullptr) return std::nullopt;
  return measured->value * watched.per_unit;
}

/// The values of a quantity beside the metric's, for the trials that have both.
template <class Beside>
Result<Correlation> correlated(std::span<const EvidenceTrial> trials, const MetricEvidence& evidence, Beside beside,
                               const char* quantity) {
  std::vector<double> x, y;
  for (std::size_t k = 0; k < evidence.places.size(); ++k) {
    if (const std::optional<double> other = beside(trials[evidence.places[k]])) {
      x.push_back(*other);
      y.push_back(evidence.values[k]);
    }
  }
  if (x.empty())
    return complain(std::string{"No trial has a measured "} + quantity + ".", evidence.asked.limit.quantity,
                    "Record it to see whether the metric follows it.");
  return pearson(x, y);
}

Result<BetweenDays> by_day(std::span<const EvidenceTrial> trials, const MetricEvidence& evidence) {
  std::vector<std::string> order;
  std::map<std::string, std::vector<double>> days;
  for (std::size_t k = 0; k < evidence.places.size(); ++k) {
    const std::string& day = trials[evidence.places[k]].day;
    if (!days.contains(day)) order.push_back(day);
    days[day].push_back(evidence.values[k]);
  }
  std::vector<std::vector<double>> groups;
  groups.reserve(order.size());
  for (const std::string& day : order) groups.push_back(days[day]);
  return compare_days(groups);
}

MetricEvidence watch(std::span<const EvidenceTrial> trials, std::span<const std::size_t> counted, const WatchedMetric& watched) {
  const auto none = [&] { return complain("Not computed.", watched.limit.quantity, "Report this."); };
  MetricEvidence out{watched, {}, {}, 0, none(), none(), none(), none(), none(), none(), none(), none(), none(), none(), none()};
  std::vector<double> numbers, hours;
  std::vector<const Measured*> results;
  for (const std::size_t place : counted) {
    const EvidenceTrial& trial = trials[place];
    const Measured* measured = measured_of(trial, watched);
    if (measured == nullptr) {
      if (watched.metric == kLatency && trial.judged && trial.result.outcome == Outcome::missed) ++out.never_reached;
      continue;
    }
    out.places.push_back(place);
    out.values.push_back(measured->value * watched.per_unit);
    results.push_back(measured);
    numbers.push_back(static_cast<double>(place + 1));
    hours.push_back(trial.elapsed_hours);
  }
  LimitRequest request = watched.limit;
  request.never_reached = out.never_reached;
  request.common_expanded_uncertainty = 2.0 * common_standard_uncertainty(results) * watched.per_unit;
  out.limit = find_limit(out.values, request);
  request.side = LimitSide::both;
  out.both_sides = find_limit(out.values, request);
  out.chart = control_chart(out.values, RuleSet::western_electric);
  out.by_number = find_trend(numbers, out.values);
  out.by_time = find_trend(hours, out.values);
  out.with_charge = correlated(
      trials, out, [](const EvidenceTrial& t) { return t.charge_pascals; }, "charge pressure");
  out.with_temperature = correlated(
      trials, out, [](const EvidenceTrial& t) { return t.temperature_kelvin; }, "temperature");
  out.runs = runs_test(out.values);
  out.dependence = find_dependence(out.values);
  const std::size_t most = std::min<std::size_t>(3, out.values.size() > 2 ? out.values.size() - 2 : 0);
  if (most == 0)
    out.outliers = complain("Fewer than three values.", watched.limit.quantity, "Run more trials.");
  else
    out.outliers = extreme_deviates(out.values, most);
  out.days = by_day(trials, out);
  return out;
}

WatchedMetric watched(const char* metric, const char* quantity, const char* unit, double per_unit, LimitSide side) {
  LimitRequest request;
  request.side = side;
  request.content = {0.95, 0.95};
  request.quantity = quantity;
  request.unit = unit;
  return {metric, per_unit, request};
}

}  // namespace

std::vector<WatchedMetric> usual_watched_metrics() {
  return {watched(kLatency, "latency", "ms", 1.0e3, LimitSide::upper),
          watched("peak_acceleration_g", "peak acceleration", "g", 1.0, LimitSide::upper),
          watched("exit_speed_from_force_mps", "exit speed", "m/s", 1.0, LimitSide::lower),
          watched("onset_before_apex_seconds", "ignition margin", "ms", 1.0e3, LimitSide::lower)};
}

double common_standard_uncertainty(std::span<const Measured* const> results) {
  using Input = std::tuple<std::string, std::string, double>;
  const auto input = [](const Contribution& line) { return Input{line.source, line.unit, line.standard_uncertainty}; };
  std::map<Input, std::size_t> results_with;
  for (const Measured* result : results) {
    std::set<Input> inputs;
    for (const Contribution& line : result->budget) inputs.insert(input(line));
    for (const Input& one : inputs) ++results_with[one];
  }
  double most = 0.0;
  for (const Measured* result : results) {
    double squares = 0.0;
    for (const Contribution& line : result->budget)
      if (results_with[input(line)] > 1) squares += line.share * line.share;
    most = std::max(most, squares);
  }
  return std::sqrt(most);
}

Result<CampaignEvidence> weigh_campaign(std::span<const EvidenceTrial> trials, const EvidenceRequest& request) {
  std::vector<TrialRecord> records;
  for (const EvidenceTrial& trial : trials) records.push_back(trial.record);
  auto count = count_trials(records);
  if (!count) return tl::unexpected{count.error()};
  auto statement = state_demonstration(records, *count, request.goals);
  if (!statement) return tl::unexpected{statement.error()};
  CampaignEvidence evidence{std::move(*count), std::move(*statement), {}, {}};
  if (!evidence.count.runs.empty()) evidence.counted = counted_places(trials, evidence.count.runs.back());
  for (const WatchedMetric& metric : request.metrics) evidence.metrics.push_back(watch(trials, evidence.counted, metric));
  return evidence;
}

ComparedSide compared_side(std::span<const EvidenceTrial> trials, const TrialRun& run, const WatchedMetric& metric,
                           std::string label) {
  ComparedSide side;
  side.label = std::move(label);
  for (const std::size_t place : counted_places(trials, run)) {
    ++side.trials;
    if (trials[place].judged && trials[place].result.outcome == Outcome::in_time) ++side.hits;
    if (const auto value = value_of(trials[place], metric)) side.values.push_back(*value);
  }
  return side;
}

std::vector<std::size_t> worst_first(std::span<const EvidenceTrial> trials, const TrialRun& run, const WatchedMetric& metric) {
  std::vector<std::size_t> places = counted_places(trials, run);
  const auto badness = [&](std::size_t place) {
    const EvidenceTrial& trial = trials[place];
    const bool in_time = trial.judged && trial.result.outcome == Outcome::in_time;
    if (!in_time) return std::numeric_limits<double>::infinity();
    const auto value = value_of(trial, metric);
    if (!value) return -std::numeric_limits<double>::infinity();
    return metric.limit.side == LimitSide::lower ? -*value : *value;
  };
  std::ranges::stable_sort(places, std::ranges::greater{}, badness);
  return places;
}

Result<std::vector<Outlook>> outlook(std::int64_t trials, std::int64_t failures, std::span<const std::int64_t> more_passes,
                                     std::span<const double> confidences) {
  std::vector<Outlook> all;
  for (const std::int64_t more : more_passes) {
    Outlook one{more, {}};
    for (const double confidence : confidences) {
      auto bound = reliability_shown(trials + more, failures, confidence);
      if (!bound) return tl::unexpected{bound.error()};
      one.bounds.push_back(*bound);
    }
    all.push_back(std::move(one));
  }
  return all;
}

}  // namespace coldstroke::analysis
