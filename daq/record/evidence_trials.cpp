// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/evidence_trials.hpp"

#include <QDateTime>
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>
#include <utility>

#include "daq/record/digest.hpp"
#include "daq/record/trial_archive.hpp"

namespace coldstroke::daq {
namespace {

using analysis::statistics::ChargeCheck;
using analysis::statistics::Configuration;
using analysis::statistics::ConfigurationPart;
using analysis::statistics::CountedVerdict;

/// A thermometer is slow and may be read once a second.
constexpr double kChargeWindowSeconds = 0.05, kTemperatureWindowSeconds = 2.5;

/// The shortest text that reads back to the same number.
std::string number(double value) { return nlohmann::json(value).dump(); }

std::string bar(double pascals) {
  std::ostringstream out;
  out.precision(4);
  out << pascals * 1.0e-5;
  return out.str();
}

nlohmann::json parsed(const std::string& identity) {
  auto json = nlohmann::json::parse(identity, nullptr, false);
  return json.is_object() ? json : nlohmann::json::object();
}

std::string firmware_words(const nlohmann::json& identity) {
  if (!identity.contains("firmware_name")) return "unknown";
  return identity.value("firmware_name", std::string{}) + " " + identity.value("firmware_version", std::string{});
}

/// Settings in the order of their names: the order a board lists them in changes nothing.
std::vector<std::pair<std::string, std::string>> detector_settings(const nlohmann::json& identity) {
  std::vector<std::pair<std::string, std::string>> settings;
  if (!identity.contains("detector") || !identity["detector"].is_object()) return settings;
  for (const auto& [key, value] : identity["detector"].items())
    settings.emplace_back(key, value.is_string() ? value.get<std::string>() : value.dump());
  std::ranges::sort(settings);
  return settings;
}

void add_rig(const Setup& setup, std::vector<ConfigurationPart>& parts) {
  const analysis::TrialSetup& trial = setup.trial;
  const auto add = [&](const char* part, const std::string& words) { parts.push_back({part, words, words}); };
  add("rig", setup.rig_name);
  add("reservoir", number(setup.reservoir_volume_m3 * 1.0e3) + " litres");
  add("stroke", number(trial.stroke_metres) + " m");
  add("bore", number(trial.bore_metres) + " m");
  add("tilt", number(trial.tilt_radians) + " rad");
  add("moving rig mass", number(trial.moving_rig_mass_kg) + " kg");
  add("mass ahead of the force cell", number(trial.front_hardware_mass_kg) + " kg");
  add("lid", setup.lid ? "shut after " + number(setup.lid->shut_after_seconds) + " s" : std::string{"none"});
}

void add_criteria(const analysis::TrialSetup& trial, std::vector<ConfigurationPart>& parts) {
  const auto add = [&](const std::string& part, const std::string& words) { parts.push_back({part, words, words}); };
  add("decision deadline", number(trial.decision_deadline_seconds * 1.0e3) + " ms");
  add("igniter delay", trial.igniter_delay_seconds ? number(*trial.igniter_delay_seconds * 1.0e3) + " ms" : std::string{"none"});
  for (const analysis::Criterion& one : trial.criteria) {
    using Kind = analysis::Criterion::Kind;
    std::string words = one.kind == Kind::detector_in_time    ? "detector in time"
                        : one.kind == Kind::no_lost_samples   ? "no lost samples"
                        : one.kind == Kind::nothing_saturated ? "nothing saturated"
                        : one.kind == Kind::alignment_within  ? "alignment"
                                                              : one.metric;
    if (one.lower) words += " at least " + number(*one.lower);
    if (one.upper) words += " at most " + number(*one.upper);
    add("criterion " + one.name, words);
  }
}

CountedVerdict counted(const std::string& verdict) {
  if (verdict == "pass") return CountedVerdict::pass;
  return verdict == "fail" ? CountedVerdict::fail : CountedVerdict::void_;
}

double hours_between(const std::string& from_utc, const std::string& to_utc) {
  const auto at = [](const std::string& text) { return QDateTime::fromString(QString::fromStdString(text), Qt::ISODateWithMs); };
  const QDateTime from = at(from_utc), to = at(to_utc);
  return from.isValid() && to.isValid() ? static_cast<double>(from.msecsTo(to)) / 3.6e6 : 0.0;
}

void check_charge(const ChargeSetup& declared, analysis::EvidenceTrial& out) {
  if (!out.charge_pascals || declared.high_pascals <= declared.low_pascals) return;
  const bool inside = *out.charge_pascals >= declared.low_pascals && *out.charge_pascals <= declared.high_pascals;
  out.record.charge = inside ? ChargeCheck::inside : ChargeCheck::outside;
  out.record.charge_words =
      bar(*out.charge_pascals) + " bar, declared " + bar(declared.low_pascals) + " to " + bar(declared.high_pascals) + " bar";
}

/// The newest stored result if it can be read, else what the raw bytes give now.
void take_result(const std::vector<ResultRow>& results, const Result<DecodedTrial>& decoded, const Setup& setup,
                 analysis::EvidenceTrial& out) {
  if (!results.empty()) {
    if (auto stored = parse_result_json(results.back().json)) {
      out.result = std::move(*stored);
      out.judged = true;
      out.record.verdict = counted(results.back().verdict);
      return;
    }
  }
  if (!decoded) return;  // a recorded trial that cannot be judged is void
  out.result = analysis::analyse(decoded->traces, setup.trial);
  out.judged = true;
  out.record.verdict = counted(word(out.result.verdict));
}

/// The board said its firmware and its detector's settings.
bool introduced(const std::string& flight_identity) {
  const nlohmann::json identity = parsed(flight_identity);
  return identity.contains("firmware_name") && identity.contains("detector");
}

/// `identity`: what the flight board last said of itself in a trial before this one, and afterwards in this one.
Result<analysis::EvidenceTrial> read_one(const Campaign& campaign, const TrialRow& row, std::string& identity) {
  analysis::EvidenceTrial out;
  out.record.name = std::to_string(row.number);
  out.day = row.started_utc.substr(0, 10);
  const auto known = setup_in_force(campaign, row.number);
  if (!known) return tl::unexpected{known.error()};
  const Setup& setup = known->setup;
  const auto said = campaign.identity(row.number, Node::flight);
  if (!said) return tl::unexpected{said.error()};
  const std::string before = std::exchange(identity, said->value_or(""));
  out.record.configuration = tested_configuration(setup, identity);
  // Stopped before the board had introduced itself: nothing was judged, and nothing says that another board was there.
  const auto keep_identity = [&] {
    if (introduced(identity)) return;
    identity = before;
    out.record.configuration = tested_configuration(setup, identity);
  };
  if (row.status != TrialStatus::recorded) {
    out.record.verdict = CountedVerdict::aborted;
    keep_identity();
    return out;
  }
  auto results = campaign.results(row.number);
  if (!results) return tl::unexpected{results.error()};
  const auto decoded = archived_traces(campaign, row.number, setup);
  take_result(*results, decoded, setup, out);
  if (decoded) {
    out.charge_pascals =
        mean_before_release(decoded->traces, out.result.marks, analysis::Role::supply_pressure, kChargeWindowSeconds);
    check_charge(setup.charge, out);
    out.temperature_kelvin =
        mean_before_release(decoded->traces, out.result.marks, analysis::Role::temperature, kTemperatureWindowSeconds);
  }
  auto set_aside = campaign.hand_void(row.number);
  if (!set_aside) return tl::unexpected{set_aside.error()};
  if (*set_aside) {
    out.record.verdict = CountedVerdict::void_;
    out.record.hand_void = {counted((*set_aside)->judged_before), (*set_aside)->reason + " (" + (*set_aside)->person + ")"};
  }
  if (out.record.verdict == CountedVerdict::void_) keep_identity();
  return out;
}

}  // namespace

Configuration tested_configuration(const Setup& setup, const std::string& flight_identity) {
  const nlohmann::json identity = parsed(flight_identity);
  Configuration out;
  const std::string firmware = firmware_words(identity);
  out.parts.push_back({"firmware", firmware, firmware});
  for (const auto& [key, value] : detector_settings(identity)) out.parts.push_back({"detector " + key, value, value});
  add_rig(setup, out.parts);
  out.parts.push_back({"vehicle", setup.vehicle_name, setup.vehicle_name});
  const std::string mass = number(setup.trial.vehicle_mass_kg) + " kg";
  out.parts.push_back({"mass", mass, mass});
  out.parts.push_back({"charge band", number(setup.charge.low_pascals) + " " + number(setup.charge.high_pascals),
                       bar(setup.charge.low_pascals) + " to " + bar(setup.charge.high_pascals) + " bar"});
  add_criteria(setup.trial, out.parts);
  Digest digest;
  for (const auto& part : out.parts) digest.text(part.part).text(part.identity);
  out.key = sha256_hex(digest.value());
  return out;
}

std::vector<analysis::HandoverItem> tested_items(const Setup& setup, const std::string& flight_identity) {
  const nlohmann::json identity = parsed(flight_identity);
  std::vector<analysis::HandoverItem> items{
      {"firmware", firmware_words(identity)},
      {"vehicle", setup.vehicle_name},
      {"mass_kg", number(setup.trial.vehicle_mass_kg)},
      {"inhibit_deadline_seconds", number(setup.trial.decision_deadline_seconds)},
      {"charge.low_bar", number(setup.charge.low_pascals * 1.0e-5)},
      {"charge.high_bar", number(setup.charge.high_pascals * 1.0e-5)},
  };
  if (setup.trial.igniter_delay_seconds) items.push_back({"igniter_delay_seconds", number(*setup.trial.igniter_delay_seconds)});
  for (const auto& [key, value] : detector_settings(identity)) items.push_back({"detector." + key, value});
  return items;
}

std::optional<double> mean_before_release(const analysis::TraceSet& traces, const analysis::Marks& marks, analysis::Role role,
                                          double window_seconds) {
  const analysis::Trace* trace = find(traces, role);
  const std::optional<double> release =
      traces.release_commanded_seconds ? traces.release_commanded_seconds : marks.first_motion_seconds;
  if (trace == nullptr || !release || trace->period_seconds <= 0.0) return std::nullopt;
  double sum = 0.0;
  std::size_t count = 0;
  for (std::size_t k = 0; k < trace->samples.size(); ++k) {
    const double at = trace->start_seconds + static_cast<double>(k) * trace->period_seconds;
    if (at >= *release) break;
    const bool lost = std::ranges::any_of(trace->missing, [&](const auto& run) { return k >= run.first && k < run.last; });
    if (at < *release - window_seconds || lost) continue;
    sum += trace->samples[k];
    ++count;
  }
  return count == 0 ? std::nullopt : std::optional{sum / static_cast<double>(count)};
}

Result<std::vector<analysis::EvidenceTrial>> read_evidence(const Campaign& campaign, const Progress& progress) {
  auto rows = campaign.trials();
  if (!rows) return tl::unexpected{rows.error()};
  std::vector<analysis::EvidenceTrial> trials;
  std::string identity;
  for (const TrialRow& row : *rows) {
    auto one = read_one(campaign, row, identity);
    if (!one) return tl::unexpected{one.error()};
    one->elapsed_hours = hours_between(rows->front().started_utc, row.started_utc);
    trials.push_back(std::move(*one));
    if (progress && !progress(trials.size(), rows->size()))
      return complain("Stopped on request after " + std::to_string(trials.size()) + " trials.", "reading the campaign",
                      "Start it again; nothing was changed.");
  }
  return trials;
}

}  // namespace coldstroke::daq
