// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/trace_export.hpp"

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <fstream>
#include <set>
#include <string>

#include "daq/record/csv_columns.hpp"
#include "daq/setup/units.hpp"

namespace coldstroke::daq {
namespace {

using analysis::Role;
using analysis::Trace;

/// Traces that share one time line.
struct Group {
  std::vector<const Trace*> traces;
  bool detector = false;
  std::filesystem::path file;
};

bool same_line(const Trace& a, const Trace& b) {
  return a.start_seconds == b.start_seconds && a.period_seconds == b.period_seconds && a.samples.size() == b.samples.size();
}

std::string header(const Trace& trace) {
  const std::string unit{si_word(dimension(trace.quantity))};
  if (trace.role != Role::other) return std::string{column_word(trace.role)} + "_" + unit;
  return csv_cell(trace.name + (unit.empty() ? "" : " [" + unit + "]"));
}

std::string rate_word(double period_seconds) {
  const double rate = 1.0 / period_seconds;
  return shortest(std::abs(rate - std::round(rate)) < 1e-6 * rate ? std::round(rate) : rate) + "Hz";
}

std::vector<Group> grouped(const analysis::TraceSet& set, const std::filesystem::path& file) {
  std::vector<Group> groups;
  for (const Trace& trace : set.traces) {
    const auto group = std::ranges::find_if(groups, [&](const Group& known) { return same_line(*known.traces[0], trace); });
    if (group == groups.end()) {
      groups.push_back({{&trace}, false, {}});
    } else {
      group->traces.push_back(&trace);
    }
  }
  std::set<std::string> names;
  for (Group& group : groups) {
    const std::string base = file.stem().string() + "-" + rate_word(group.traces[0]->period_seconds);
    std::string name = base;
    for (int number = 2; !names.insert(name).second; ++number) name = base + "-" + std::to_string(number);
    group.file = file.parent_path() / (name + ".csv");
  }
  if (set.detector.source == analysis::DecisionSource::none || groups.empty()) return groups;
  const auto flight = std::ranges::find_if(groups, [](const Group& group) {
    return std::ranges::any_of(group.traces, [](const Trace* trace) { return trace->role == Role::vehicle_acceleration; });
  });
  (flight == groups.end() ? groups.front() : *flight).detector = true;
  return groups;
}

/// For each sample, is it the first at or after a decision?
std::vector<bool> decision_flags(const Trace& line, const std::vector<double>& decisions) {
  std::vector<bool> flags(line.samples.size(), false);
  for (const double decision : decisions) {
    // The small allowance keeps a decision that lies on a sample on it, whatever the last bit of the division.
    const double sample = std::ceil((decision - line.start_seconds) / line.period_seconds - 1e-6);
    if (sample < static_cast<double>(flags.size())) flags[static_cast<std::size_t>(std::max(sample, 0.0))] = true;
  }
  return flags;
}

std::string rows_of(const Group& group, const std::vector<double>& decisions) {
  const Trace& line = *group.traces[0];
  std::vector<std::vector<bool>> missing;
  std::string text = "time_s";
  for (const Trace* trace : group.traces) {
    text += "," + header(*trace);
    missing.emplace_back(trace->samples.size(), false);
    for (const analysis::IndexRun& run : trace->missing) {
      for (std::size_t i = run.first; i < std::min(run.last, trace->samples.size()); ++i) missing.back()[i] = true;
    }
  }
  const std::vector<bool> decided = group.detector ? decision_flags(line, decisions) : std::vector<bool>{};
  text += group.detector ? ",detector\r\n" : "\r\n";
  for (std::size_t i = 0; i < line.samples.size(); ++i) {
    text += shortest(line.start_seconds + static_cast<double>(i) * line.period_seconds);
    for (std::size_t k = 0; k < group.traces.size(); ++k)
      text += "," + (missing[k][i] ? "" : shortest(group.traces[k]->samples[i]));
    if (group.detector) text += decided[i] ? ",1" : ",0";
    text += "\r\n";
  }
  return text;
}

std::filesystem::path unfinished(const std::filesystem::path& file) { return file.string() + ".new"; }

Result<void> write_unfinished(const Group& group, const std::vector<double>& decisions) {
  std::ofstream stream{unfinished(group.file), std::ios::binary | std::ios::trunc};
  stream << rows_of(group, decisions);
  stream.close();
  if (stream) return {};
  return complain("The file cannot be written: " + std::string{std::strerror(errno)} + ".", group.file.string(),
                  "Check the folder and the space on the disk; no file was left behind.");
}

}  // namespace

std::string csv_cell(const std::string& text) {
  if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
  std::string quoted = "\"";
  for (const char c : text) quoted += c == '"' ? std::string{"\"\""} : std::string{c};
  return quoted + "\"";
}

Result<std::vector<std::filesystem::path>> write_csv(const std::filesystem::path& file, const analysis::TraceSet& traces) {
  const std::vector<Group> groups = grouped(traces, file);
  if (groups.empty()) return complain("There is no trace to write.", file.string(), "Choose a trial with data.");
  std::error_code error;
  for (const Group& group : groups) {
    if (std::filesystem::exists(group.file, error)) {
      return complain("The file exists already.", group.file.string(), "Choose another name; nothing was written over.");
    }
  }
  Result<void> done;
  for (const Group& group : groups) {
    done = write_unfinished(group, traces.detector.decisions_seconds);
    if (!done) break;
  }
  std::vector<std::filesystem::path> written;
  for (const Group& group : groups) {
    if (!done) {
      std::filesystem::remove(unfinished(group.file), error);
      continue;
    }
    std::filesystem::rename(unfinished(group.file), group.file, error);
    if (error)
      return complain("The file cannot be put in place: " + error.message() + ".", group.file.string(), "Check the folder.");
    written.push_back(group.file);
  }
  if (!done) return tl::unexpected{done.error()};
  return written;
}

}  // namespace coldstroke::daq
