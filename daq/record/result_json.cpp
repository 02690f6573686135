// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <nlohmann/json.hpp>

#include "daq/record/trial_archive.hpp"

namespace coldstroke::daq {

namespace {

using Json = nlohmann::ordered_json;
using analysis::Criterion;

constexpr std::array kKinds{"metric",           "detector_in_time", "no_lost_samples", "nothing_saturated",
                            "alignment_within", "would_fire"};

template <class T>
void put(Json& out, const char* key, const std::optional<T>& value) {
  if (value) out[key] = *value;
}

template <class T>
std::optional<T> get(const Json& in, const char* key) {
  const auto at = in.find(key);
  return at == in.end() ? std::nullopt : std::optional<T>{at->get<T>()};
}

Json metric_json(const analysis::Metric& metric) {
  Json out;
  if (const auto* absent = std::get_if<analysis::Absent>(&metric.value)) {
    out["absent"] = absent->reason;
  } else {
    const auto& measured = std::get<analysis::Measured>(metric.value);
    out["value"] = measured.value;
    out["standard_uncertainty"] = measured.standard_uncertainty;
    out["interval_95"] = {measured.low_95, measured.high_95};
    if (measured.at_least) out["at_least"] = true;
    if (measured.beyond_calibration) out["beyond_calibration"] = true;
    for (const auto& line : measured.budget)
      out["budget"].push_back({{"source", line.source},
                               {"standard_uncertainty", line.standard_uncertainty},
                               {"unit", line.unit},
                               {"share", line.share}});
  }
  out["unit"] = metric.unit;
  out["method"] = metric.method;
  return out;
}

analysis::Metric metric_from(const std::string& name, const Json& in) {
  analysis::Metric metric{name, in.at("unit").get<std::string>(), in.at("method").get<std::string>(), analysis::Absent{}};
  if (in.contains("absent")) {
    metric.value = analysis::Absent{in.at("absent").get<std::string>()};
    return metric;
  }
  analysis::Measured measured;
  measured.value = in.at("value").get<double>();
  measured.standard_uncertainty = in.at("standard_uncertainty").get<double>();
  measured.low_95 = in.at("interval_95").at(0).get<double>();
  measured.high_95 = in.at("interval_95").at(1).get<double>();
  measured.at_least = in.value("at_least", false);
  measured.beyond_calibration = in.value("beyond_calibration", false);
  if (in.contains("budget"))
    for (const Json& line : in.at("budget"))
      measured.budget.push_back({line.at("source").get<std::string>(), line.at("standard_uncertainty").get<double>(),
                                 line.at("unit").get<std::string>(), line.at("share").get<double>()});
  metric.value = std::move(measured);
  return metric;
}

Json judgement_json(const analysis::Judgement& judgement) {
  Json out;
  out["name"] = judgement.criterion.name;
  out["kind"] = kKinds[static_cast<std::size_t>(judgement.criterion.kind)];
  if (!judgement.criterion.metric.empty()) out["metric"] = judgement.criterion.metric;
  put(out, "lower", judgement.criterion.lower);
  put(out, "upper", judgement.criterion.upper);
  out["verdict"] = word(judgement.verdict);
  put(out, "value", judgement.value);
  put(out, "margin", judgement.margin);
  out["reason"] = judgement.reason;
  return out;
}

template <class Enum, std::size_t N>
Enum from_word(const std::string& text, const std::array<Enum, N>& all) {
  for (const Enum value : all)
    if (text == word(value)) return value;
  throw std::out_of_range{"unknown word '" + text + "'"};
}

analysis::Verdict verdict_from(const std::string& text) {
  return from_word(text, std::array{analysis::Verdict::pass, analysis::Verdict::fail, analysis::Verdict::void_});
}

analysis::Judgement judgement_from(const Json& in) {
  analysis::Judgement out;
  out.criterion.name = in.at("name").get<std::string>();
  const auto kind = std::ranges::find(kKinds, in.at("kind").get<std::string>());
  if (kind == kKinds.end()) throw std::out_of_range{"unknown criterion kind"};
  out.criterion.kind = static_cast<Criterion::Kind>(kind - kKinds.begin());
  out.criterion.metric = in.value("metric", std::string{});
  out.criterion.lower = get<double>(in, "lower");
  out.criterion.upper = get<double>(in, "upper");
  out.verdict = verdict_from(in.at("verdict").get<std::string>());
  out.value = get<double>(in, "value");
  out.margin = get<double>(in, "margin");
  out.reason = in.at("reason").get<std::string>();
  return out;
}

Json firing_json(const analysis::FiringReport& firing) {
  Json out{{"outcome", word(firing.outcome)}, {"reason", firing.reason}};
  put(out, "start_seconds", firing.start_seconds);
  put(out, "amperes", firing.amperes);
  put(out, "hot_amperes", firing.hot_amperes);
  put(out, "held_seconds", firing.held_seconds);
  put(out, "action_ampere2_seconds", firing.action_ampere2_seconds);
  put(out, "bridge_seconds", firing.bridge_seconds);
  put(out, "loop_ohms", firing.loop_ohms);
  put(out, "end_seconds", firing.end_seconds);
  if (firing.loop_too_high) out["loop_too_high"] = true;
  if (firing.reversed) out["reversed"] = true;
  if (!firing.doubt.empty()) out["doubt"] = firing.doubt;
  return out;
}

analysis::FiringReport firing_from(const Json& in) {
  using analysis::FiringOutcome;
  analysis::FiringReport out;
  out.outcome = from_word(in.at("outcome").get<std::string>(),
                          std::array{FiringOutcome::no_current, FiringOutcome::too_low, FiringOutcome::too_short,
                                     FiringOutcome::too_early, FiringOutcome::too_late, FiringOutcome::would_fire});
  out.reason = in.at("reason").get<std::string>();
  out.start_seconds = get<double>(in, "start_seconds");
  out.amperes = get<double>(in, "amperes");
  out.hot_amperes = get<double>(in, "hot_amperes");
  out.held_seconds = get<double>(in, "held_seconds");
  out.action_ampere2_seconds = get<double>(in, "action_ampere2_seconds");
  out.bridge_seconds = get<double>(in, "bridge_seconds");
  out.loop_ohms = get<double>(in, "loop_ohms");
  out.end_seconds = get<double>(in, "end_seconds");
  out.loop_too_high = in.value("loop_too_high", false);
  out.reversed = in.value("reversed", false);
  out.doubt = in.value("doubt", std::string{});
  return out;
}

}  // namespace

std::string result_json(const analysis::TrialResult& result) {
  Json out;
  out["verdict"] = word(result.verdict);
  out["metrics"] = Json::object();
  for (const auto& metric : result.metrics) out["metrics"][metric.name] = metric_json(metric);
  out["detector"] = {{"outcome", word(result.outcome)}};
  if (result.firing) out["firing"] = firing_json(*result.firing);
  out["findings"] = Json::array();
  for (const auto& finding : result.findings)
    out["findings"].push_back({{"kind", finding.kind}, {"channel", finding.channel}, {"message", finding.message}});
  for (const auto& filter : result.filters)
    out["shown_through"][filter.channel] = {{"frequency_class", filter.frequency_class}, {"refused", filter.refused}};
  out["criteria"] = Json::array();
  for (const auto& judgement : result.criteria) out["criteria"].push_back(judgement_json(judgement));
  Json marks = Json::object();
  put(marks, "release_commanded_seconds", result.marks.release_commanded_seconds);
  put(marks, "first_motion_seconds", result.marks.first_motion_seconds);
  put(marks, "peak_seconds", result.marks.peak_seconds);
  put(marks, "separation_seconds", result.marks.separation_seconds);
  put(marks, "decision_seconds", result.marks.decision_seconds);
  put(marks, "apex_seconds", result.marks.apex_seconds);
  out["marks"] = std::move(marks);
  return out.dump();
}

Result<analysis::TrialResult> parse_result_json(const std::string& text) try {
  const Json in = Json::parse(text);
  analysis::TrialResult out;
  out.verdict = verdict_from(in.at("verdict").get<std::string>());
  using analysis::Outcome;
  out.outcome = from_word(in.at("detector").at("outcome").get<std::string>(),
                          std::array{Outcome::in_time, Outcome::early, Outcome::late, Outcome::missed, Outcome::unknown});
  if (in.contains("firing")) out.firing = firing_from(in.at("firing"));
  for (const auto& [name, metric] : in.at("metrics").items()) out.metrics.push_back(metric_from(name, metric));
  for (const Json& finding : in.at("findings"))
    out.findings.push_back({finding.at("kind").get<std::string>(), finding.at("channel").get<std::string>(),
                            finding.at("message").get<std::string>()});
  if (in.contains("shown_through"))
    for (const auto& [channel, filter] : in.at("shown_through").items())
      out.filters.push_back({channel, filter.at("frequency_class").get<int>(), filter.at("refused").get<bool>()});
  for (const Json& judgement : in.at("criteria")) out.criteria.push_back(judgement_from(judgement));
  const Json& marks = in.at("marks");
  out.marks.release_commanded_seconds = get<double>(marks, "release_commanded_seconds");
  out.marks.first_motion_seconds = get<double>(marks, "first_motion_seconds");
  out.marks.peak_seconds = get<double>(marks, "peak_seconds");
  out.marks.separation_seconds = get<double>(marks, "separation_seconds");
  out.marks.decision_seconds = get<double>(marks, "decision_seconds");
  out.marks.apex_seconds = get<double>(marks, "apex_seconds");
  return out;
} catch (const std::exception& error) {
  return complain(std::string{"a stored result cannot be read: "} + error.what(), "result text", "judge the trial again");
}

}  // namespace coldstroke::daq
