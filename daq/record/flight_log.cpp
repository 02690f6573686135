// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/flight_log.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <nlohmann/json.hpp>
#include <span>

#include "analysis/signal/delay.hpp"
#include "daq/record/flight_placing.hpp"

namespace coldstroke::daq {

namespace {

using analysis::Trace;

// Names of the two attachments; docs/campaign-file.md.
constexpr std::string_view kLogPrefix = "flight-log/", kReadingPrefix = "flight-log-reading/";
constexpr double kAnotherLikeness = 0.9, kAnotherHeight = 0.5;  // of the best: a pulse that could be meant as well

/// From the log's time to the bench's.
using Placer = std::function<AlignedInstant(double log_seconds)>;

Result<void> only_a_flight_boards(const ImportedTraces& imported, const std::string& name) {
  for (const Trace& trace : imported.traces.traces)
    if (trace.role != analysis::Role::vehicle_acceleration)
      return complain("Column \"" + trace.name + "\" is not a flight board's to tell: the rig board recorded it.", name,
                      "Leave it out with --column '" + trace.name + "=ignore:'; a flight log has time, acceleration, detector.");
  return {};
}

/// Height of the acceleration above its median in [from, to] of its own time.
double height_between(const analysis::Sampled& s, double from, double to) {
  double low = INFINITY, high = -INFINITY;
  for (std::size_t k = 0; k < s.samples.size(); ++k) {
    const double at = s.start_seconds + s.period_seconds * static_cast<double>(k);
    if (at < from || at > to) continue;
    low = std::min(low, s.samples[k]);
    high = std::max(high, s.samples[k]);
  }
  return high - low;
}

/// Whether a part of the log holds a pulse that could be taken for the same one.
bool another_pulse(const analysis::Sampled& force, double from, double to, const analysis::Sampled& part,
                   const analysis::PulseAlignment& best, double height) {
  const auto other = analysis::align_on_pulse(force, from, to, part);
  return other && other->likeness >= kAnotherLikeness * best.likeness &&
         height_between(part, from - other->shift_seconds, to - other->shift_seconds) >= kAnotherHeight * height;
}

Result<Placer> by_pulse(const ImportedTraces& imported, const Trace* force, const Setup& setup, const std::string& name) {
  const Trace* acceleration = find(imported.traces, analysis::Role::vehicle_acceleration);
  if (force == nullptr || force->samples.empty() || acceleration == nullptr)
    return complain(std::string{"The log can only be placed by the pulse that force and acceleration share, and there is no "} +
                        (acceleration == nullptr ? "acceleration in it." : "force in the trial."),
                    name,
                    "Give a log with an acceleration column, or say --board-clock if its times are the board's own clock and the "
                    "trial's clock exchange is there.");
  const analysis::Sampled first{force->samples, force->start_seconds, force->period_seconds};
  const analysis::Sampled second{acceleration->samples, acceleration->start_seconds, acceleration->period_seconds};
  const auto [from, to] = pulse_span(*force);
  const auto best = analysis::align_on_pulse(first, from, to, second);
  if (!best) return tl::unexpected{Complaint{best.error().what, name + ": " + best.error().where, best.error().remedy}};
  const double begin = from - best->shift_seconds, end = to - best->shift_seconds;  // of the pulse, on the log's time
  const auto index = [&](double seconds) {
    return static_cast<std::size_t>(
        std::clamp((seconds - second.start_seconds) / second.period_seconds, 0.0, static_cast<double>(second.samples.size())));
  };
  const std::size_t before = index(begin), after = index(end);
  const analysis::Sampled head{second.samples.first(before), second.start_seconds, second.period_seconds};
  const analysis::Sampled tail{second.samples.subspan(after),
                               second.start_seconds + second.period_seconds * static_cast<double>(after), second.period_seconds};
  const double height = height_between(second, begin, end);
  for (const analysis::Sampled& part : {head, tail})
    if (another_pulse(first, from, to, part, *best, height))
      return complain("The log holds more than one pulse like this trial's, and which one is meant cannot be told.", name,
                      "Cut the log to this one trial, or say --board-clock if its times are the board's own clock.");
  return Placer{[shift = pulse_shift(*best, setup.trial)](double seconds) {
    return AlignedInstant{seconds + shift.bench_seconds, shift.standard_uncertainty_seconds};
  }};
}

/// The part of a placed trace within the record.
Trace cut(Trace trace, double from, double to) {
  const auto count = trace.samples.size();
  const auto index = [&](double seconds) {
    return static_cast<std::size_t>(
        std::clamp(std::ceil((seconds - trace.start_seconds) / trace.period_seconds), 0.0, static_cast<double>(count)));
  };
  const std::size_t first = index(from), last = std::max(first, index(to));
  const auto within = [&](std::vector<analysis::IndexRun>& runs) {
    std::vector<analysis::IndexRun> out;
    for (const analysis::IndexRun& run : runs)
      if (run.last > first && run.first < last)
        out.push_back({std::max(run.first, first) - first, std::min(run.last, last) - first});
    runs = std::move(out);
  };
  within(trace.missing);
  within(trace.saturated);
  trace.samples = {trace.samples.begin() + static_cast<std::ptrdiff_t>(first),
                   trace.samples.begin() + static_cast<std::ptrdiff_t>(last)};
  trace.start_seconds += trace.period_seconds * static_cast<double>(first);
  return trace;
}

Result<void> add_trace(const Trace& trace, const Placer& place, const LoggedTrial& trial, const std::string& name,
                       PlacedLog& out) {
  const double steps = static_cast<double>(trace.samples.size() - 1);
  const AlignedInstant start = place(trace.start_seconds), end = place(trace.start_seconds + steps * trace.period_seconds);
  Trace placed = trace;
  placed.start_seconds = start.bench_seconds;
  placed.period_seconds = (end.bench_seconds - start.bench_seconds) / std::max(1.0, steps);
  placed.alignment_standard_uncertainty_seconds = std::max(start.standard_uncertainty_seconds, end.standard_uncertainty_seconds);
  placed = cut(std::move(placed), trial.from_seconds, trial.to_seconds);
  if (placed.samples.empty())
    return complain("The log does not reach into the trial: on the bench's time it runs from " +
                        std::to_string(start.bench_seconds) + " to " + std::to_string(end.bench_seconds) +
                        " s, the trial's record from " + std::to_string(trial.from_seconds) + " s.",
                    name, "Name the log of this very trial; leave --board-clock out if its times are not the board's own clock.");
  // Only at the stroke does the placing matter, and there the clocks are known better than at a far end of a long log.
  placed.alignment_standard_uncertainty_seconds =
      place(trace.start_seconds +
            (0.5 * (std::max(trial.from_seconds, start.bench_seconds) + std::min(trial.to_seconds, end.bench_seconds)) -
             start.bench_seconds))
          .standard_uncertainty_seconds;
  out.traces.push_back(std::move(placed));
  return {};
}

Result<void> add_decisions(const analysis::DetectorRecord& logged, const Placer& place, const LoggedTrial& trial,
                           double log_period_seconds, const std::string& name, PlacedLog& out) {
  if (logged.source == analysis::DecisionSource::none) {
    out.notes.push_back("the log has no detector column: what the board decided is not known");
    return {};
  }
  out.detector.source = analysis::DecisionSource::imported;
  const AlignedInstant end = place(logged.record_end_seconds);
  out.detector.record_end_seconds = std::min(end.bench_seconds, trial.to_seconds);
  std::size_t after = 0;
  for (const double seconds : logged.decisions_seconds) {
    const AlignedInstant at = place(seconds);
    if (at.bench_seconds < trial.from_seconds)
      return complain("The log shows a decision " + std::to_string(trial.from_seconds - at.bench_seconds) +
                          " s before this trial's record begins: whether the detector was reset since then is not in it.",
                      name, "Cut the log to this one trial.");
    if (at.bench_seconds > trial.to_seconds) {
      ++after;
      continue;
    }
    out.detector.decisions_seconds.push_back(at.bench_seconds);
    out.detector.alignment_standard_uncertainty_seconds =
        std::max(out.detector.alignment_standard_uncertainty_seconds, at.standard_uncertainty_seconds);
  }
  if (after > 0) out.notes.push_back(std::to_string(after) + " decisions of the log are later than the trial's record");
  // A log of every sample shows the deciding sample itself; a thinner one shows a decision up to a row late.
  const bool every_sample = trial.board_period_seconds &&
                            std::abs(log_period_seconds - *trial.board_period_seconds) < 0.01 * *trial.board_period_seconds;
  out.detector.polling_period_seconds = every_sample ? 0.0 : logged.polling_period_seconds;
  return {};
}

nlohmann::ordered_json reading_of(const FlightLog& log) {
  nlohmann::ordered_json columns = nlohmann::ordered_json::object();
  for (const auto& [header, mapping] : log.columns) columns[header] = {{"role", mapping.role}, {"unit", mapping.unit}};
  return {{"board_clock", log.board_clock}, {"columns", columns}};
}

std::span<const std::byte> bytes_of(const std::string& text) { return std::as_bytes(std::span{text.data(), text.size()}); }

std::string text_of(const std::vector<std::byte>& bytes) { return {reinterpret_cast<const char*>(bytes.data()), bytes.size()}; }

Result<void> read_reading(const std::string& text, std::int64_t trial, FlightLog& log) {
  const auto bad = [&] {
    return complain("How the attached flight log is to be read cannot be understood.", "trial " + std::to_string(trial),
                    "The campaign file was changed by another program; check it with: coldstroke verify");
  };
  const auto json = nlohmann::json::parse(text, nullptr, false);
  if (!json.is_object() || !json.contains("columns") || !json["columns"].is_object() || !json.contains("board_clock") ||
      !json["board_clock"].is_boolean())
    return bad();
  log.board_clock = json["board_clock"].get<bool>();
  for (const auto& [header, mapping] : json["columns"].items()) {
    if (!mapping.is_object() || !mapping.contains("role") || !mapping.contains("unit") || !mapping["role"].is_string() ||
        !mapping["unit"].is_string())
      return bad();
    log.columns[header] = {mapping["role"].get<std::string>(), mapping["unit"].get<std::string>()};
  }
  return {};
}

}  // namespace

Result<PlacedLog> place_flight_log(const FlightLog& log, const Setup& setup, const LoggedTrial& trial) {
  const auto imported = import_csv_text(log.text, log.name, log.columns, setup);
  if (!imported) return tl::unexpected{imported.error()};
  if (auto fits = only_a_flight_boards(*imported, log.name); !fits) return tl::unexpected{fits.error()};
  PlacedLog out;
  out.notes = imported->notes;
  Placer place;
  if (log.board_clock && trial.clocks != nullptr) {
    place = [clocks = trial.clocks](double seconds) { return clocks->to_bench(seconds * 1.0e6); };
    out.alignment_method = "clock exchange";
  } else {
    if (log.board_clock)
      out.notes.push_back("the clocks of this trial cannot be aligned, so the log is placed by the shared pulse");
    auto by = by_pulse(*imported, trial.force, setup, log.name);
    if (!by) return tl::unexpected{by.error()};
    place = std::move(*by);
    out.alignment_method = analysis::kSharedPulse;
  }
  for (const Trace& trace : imported->traces.traces)
    if (auto added = add_trace(trace, place, trial, log.name, out); !added) return tl::unexpected{added.error()};
  const double period = imported->traces.traces.empty() ? imported->traces.detector.polling_period_seconds
                                                        : imported->traces.traces.front().period_seconds;
  if (auto added = add_decisions(imported->traces.detector, place, trial, period, log.name, out); !added)
    return tl::unexpected{added.error()};
  return out;
}

Result<std::optional<FlightLog>> attached_flight_log(const Campaign& campaign, std::int64_t trial) {
  auto attachments = campaign.attachments(trial);
  if (!attachments) return tl::unexpected{attachments.error()};
  std::optional<FlightLog> newest;
  for (std::size_t k = 0; k + 1 < attachments->size(); ++k) {
    const auto &file = (*attachments)[k], &reading = (*attachments)[k + 1];
    if (!file.name.starts_with(kLogPrefix) || !reading.name.starts_with(kReadingPrefix)) continue;
    FlightLog log{file.name.substr(kLogPrefix.size()), text_of(file.bytes), {}, false};
    if (auto read = read_reading(text_of(reading.bytes), trial, log); !read) return tl::unexpected{read.error()};
    newest = std::move(log);
  }
  return newest;
}

Result<void> keep_flight_log(Campaign& campaign, std::int64_t trial, const FlightLog& log) {
  const auto there = attached_flight_log(campaign, trial);
  if (!there) return tl::unexpected{there.error()};
  if (*there && (*there)->text == log.text && (*there)->columns == log.columns && (*there)->board_clock == log.board_clock)
    return complain("Trial " + std::to_string(trial) + " has this very log already.", log.name,
                    "To judge it again: coldstroke analyse CAMPAIGN --trial " + std::to_string(trial) + " --store");
  if (auto kept = campaign.add_attachment(trial, std::string{kLogPrefix} + log.name, bytes_of(log.text)); !kept) return kept;
  return campaign.add_attachment(trial, std::string{kReadingPrefix} + log.name, bytes_of(reading_of(log).dump(2)));
}

}  // namespace coldstroke::daq
