// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/trial_import.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "daq/record/csv_columns.hpp"
#include "daq/record/exported_trial.hpp"
#include "daq/record/trial_archive.hpp"

namespace coldstroke::daq {
namespace {

constexpr const char* kTimingName = "timing.json";
constexpr const char* kColumnsName = "columns.json";

Result<std::string> whole_file(const std::filesystem::path& file) {
  std::ifstream stream{file, std::ios::binary};
  std::string text{std::istreambuf_iterator<char>{stream}, {}};
  if (!stream || stream.bad())
    return complain("The file cannot be read.", file.string(), "Check the name and that you may read it.");
  return text;
}

std::string columns_json(const ColumnMap& columns) {
  nlohmann::json json = nlohmann::json::object();
  for (const auto& [header, mapping] : columns) json[header] = {{"role", mapping.role}, {"unit", mapping.unit}};
  return json.dump();
}

ColumnMap columns_of(const nlohmann::json& json) {
  ColumnMap columns;
  if (!json.is_object()) return columns;
  for (const auto& [header, mapping] : json.items())
    if (mapping.is_object()) columns[header] = {mapping.value("role", std::string{}), mapping.value("unit", std::string{})};
  return columns;
}

/// Adds one file's traces and detector to what the others gave.
Result<void> merge(ImportedTraces& all, ImportedTraces one, const std::string& source) {
  for (analysis::Trace& trace : one.traces.traces) {
    const bool known = trace.role != analysis::Role::other && find(all.traces, trace.role) != nullptr;
    if (known)
      return complain("Two files have a column for " + std::string{column_word(trace.role)} + ".", source,
                      "Map one of them to ignore.");
    all.traces.traces.push_back(std::move(trace));
  }
  if (one.traces.detector.source != analysis::DecisionSource::none) {
    if (all.traces.detector.source != analysis::DecisionSource::none)
      return complain("Two files have a detector column.", source, "Map one of them to ignore.");
    all.traces.detector = std::move(one.traces.detector);
  }
  all.traces.alignment_method = one.traces.alignment_method;
  all.notes.insert(all.notes.end(), one.notes.begin(), one.notes.end());
  return {};
}

struct NamedText {
  std::string name, text;
};

Result<ImportedTraces> import_texts(const std::vector<NamedText>& tables, const std::string* timing, const ColumnMap& columns,
                                    const Setup& setup) {
  ImportedTraces all;
  for (const NamedText& table : tables) {
    auto one = import_csv_text(table.text, table.name, columns, setup);
    if (!one) return one;
    if (auto merged = merge(all, std::move(*one), table.name); !merged) return tl::unexpected{merged.error()};
  }
  if (timing != nullptr) {
    if (auto applied = apply_timing(*timing, kTimingName, all.traces); !applied) return tl::unexpected{applied.error()};
    all.notes.push_back("release, decisions and time bases are those of timing.json");
  }
  return all;
}

analysis::DecisionSource source_of(const std::string& word) {
  if (word == "live") return analysis::DecisionSource::live;
  if (word == "memory") return analysis::DecisionSource::memory;
  return word == "imported" ? analysis::DecisionSource::imported : analysis::DecisionSource::none;
}

/// What exports of before there was a corrected calibration do not say stays as the setup has it.
Result<void> apply_channel(const nlohmann::json& json, const std::string& source, analysis::Trace& trace) {
  if (!json.contains("gain_standard_uncertainty")) return {};
  trace.gain_standard_uncertainty = json.at("gain_standard_uncertainty");
  trace.zero_standard_uncertainty = json.at("zero_standard_uncertainty");
  trace.resolution = json.at("resolution");
  trace.calibrated.reset();
  if (json.contains("calibrated")) trace.calibrated = {json["calibrated"].at(0), json["calibrated"].at(1)};
  trace.saturated.clear();
  std::size_t end = 0;
  for (const auto& run : json.at("saturated")) {
    const std::size_t first = run.at(0), last = run.at(1);
    if (first < end || last <= first || last > trace.samples.size())
      return complain("The saturated samples of \"" + trace.name + "\" are not those of the table.", source,
                      "Import the files of one export together.");
    trace.saturated.push_back({first, last});
    end = last;
  }
  return {};
}

Result<void> apply(const nlohmann::json& json, const std::string& source, analysis::TraceSet& traces) {
  for (const auto& one : json.at("traces")) {
    const std::string role = one.at("role"), name = one.at("name");
    const auto found = std::ranges::find_if(traces.traces, [&](const analysis::Trace& trace) {
      return role == "other" ? trace.role == analysis::Role::other && trace.name.starts_with(name)
                             : role == column_word(trace.role);
    });
    if (found == traces.traces.end()) continue;  // not every exported file need be imported
    const double start = one.at("start_seconds"), period = one.at("period_seconds");
    if (!(period > 0.0) || std::abs(period - found->period_seconds) > 1e-6 * period ||
        std::abs(start - found->start_seconds) > 0.01 * period)
      return complain("The time base of \"" + name + "\" is not that of the table.", source,
                      "Import the files of one export together.");
    found->name = name;
    found->start_seconds = start;
    found->period_seconds = period;
    found->alignment_standard_uncertainty_seconds = one.at("alignment_standard_uncertainty_seconds");
    if (auto applied = apply_channel(one, source, *found); !applied) return applied;
  }
  if (json.contains("release_commanded_seconds"))
    traces.release_commanded_seconds = json["release_commanded_seconds"].get<double>();
  traces.alignment_method = json.at("alignment_method").get<std::string>();
  const auto& detector = json.at("detector");
  traces.detector = {source_of(detector.at("source")), detector.at("decisions_seconds").get<std::vector<double>>(),
                     detector.at("alignment_standard_uncertainty_seconds"), detector.at("polling_period_seconds"),
                     detector.at("record_end_seconds")};
  return {};
}

}  // namespace

Result<void> apply_timing(const std::string& text, const std::string& source, analysis::TraceSet& traces) {
  try {
    return apply(nlohmann::json::parse(text), source, traces);
  } catch (const nlohmann::json::exception& wrong) {
    return complain("This is no timing of an export: " + std::string{wrong.what()} + ".", source,
                    "Import the files where the export put them, or move the table away from this file.");
  }
}

namespace {

struct ReadFiles {
  std::vector<NamedText> tables;
  std::optional<std::string> timing;
};

Result<ReadFiles> read_files(const std::vector<std::filesystem::path>& files) {
  ReadFiles read;
  if (files.empty()) return complain("No file is named.", "import", "Name one CSV file for each sampling rate.");
  for (const auto& file : files) {
    auto text = whole_file(file);
    if (!text) return tl::unexpected{text.error()};
    read.tables.push_back({file.filename().string(), std::move(*text)});
  }
  const auto beside = files.front().parent_path() / kTimingName;
  std::error_code error;
  if (std::filesystem::exists(beside, error)) {
    auto timing = whole_file(beside);
    if (!timing) return tl::unexpected{timing.error()};
    read.timing = std::move(*timing);
  }
  return read;
}

}  // namespace

Result<ImportedTraces> import_files(const std::vector<std::filesystem::path>& files, const ColumnMap& columns,
                                    const Setup& setup) {
  auto read = read_files(files);
  if (!read) return tl::unexpected{read.error()};
  return import_texts(read->tables, read->timing ? &*read->timing : nullptr, columns, setup);
}

Result<ImportedTrial> import_trial(Campaign& campaign, const std::vector<std::filesystem::path>& files, const ColumnMap& columns,
                                   const Setup& setup) {
  auto read = read_files(files);
  if (!read) return tl::unexpected{read.error()};
  auto traces = import_texts(read->tables, read->timing ? &*read->timing : nullptr, columns, setup);
  if (!traces) return tl::unexpected{traces.error()};
  ImportedTrial out{0, analysis::analyse(traces->traces, setup.trial), std::move(traces->notes)};
  std::string origin = "imported";
  for (const NamedText& table : read->tables) origin += " " + table.name;
  auto number = campaign.begin_trial(setup, false, origin);
  if (!number) return tl::unexpected{number.error()};
  out.number = *number;
  const auto keep = [&](const std::string& name, const std::string& text) {
    return campaign.add_attachment(*number, name, std::as_bytes(std::span{text.data(), text.size()}));
  };
  for (const NamedText& table : read->tables)
    if (auto kept = keep(table.name, table.text); !kept) return tl::unexpected{kept.error()};
  if (auto kept = keep(kColumnsName, columns_json(columns)); !kept) return tl::unexpected{kept.error()};
  if (read->timing)
    if (auto kept = keep(kTimingName, *read->timing); !kept) return tl::unexpected{kept.error()};
  if (auto ended = campaign.end_trial(*number, TrialStatus::recorded); !ended) return tl::unexpected{ended.error()};
  auto stored = campaign.add_result(*number, word(out.result.verdict), result_json(out.result));
  if (!stored) return tl::unexpected{stored.error()};
  return out;
}

Result<std::optional<ImportedTraces>> imported_traces(const Campaign& campaign, std::int64_t trial, const Setup& setup) {
  auto row = campaign.trial(trial);
  if (!row) return tl::unexpected{row.error()};
  if (row->raw_rows > 0 || !row->origin.starts_with("imported")) return std::optional<ImportedTraces>{};
  auto attachments = campaign.attachments(trial);
  if (!attachments) return tl::unexpected{attachments.error()};
  std::vector<NamedText> tables;
  std::optional<std::string> timing;
  ColumnMap columns;
  for (const Campaign::Attachment& one : *attachments) {
    std::string text{reinterpret_cast<const char*>(one.bytes.data()), one.bytes.size()};
    if (one.name == kColumnsName)
      columns = columns_of(nlohmann::json::parse(text, nullptr, false));
    else if (one.name == kTimingName)
      timing = std::move(text);
    else if (row->origin.find(" " + one.name) != std::string::npos)  // others were attached later
      tables.push_back({one.name, std::move(text)});
  }
  auto traces = import_texts(tables, timing ? &*timing : nullptr, columns, setup);
  if (!traces) return tl::unexpected{traces.error()};
  return std::optional{std::move(*traces)};
}

Result<std::string> header_line(const std::filesystem::path& file) {
  auto text = whole_file(file);
  if (!text) return text;
  std::string line = text->substr(0, text->find('\n'));
  while (!line.empty() && line.back() == '\r') line.pop_back();
  return line;
}

Result<ColumnMap> remembered_mapping(const std::filesystem::path& memory, const std::string& header) {
  std::error_code error;
  if (!std::filesystem::exists(memory, error)) return ColumnMap{};
  auto text = whole_file(memory);
  if (!text) return tl::unexpected{text.error()};
  const auto json = nlohmann::json::parse(*text, nullptr, false);
  if (!json.is_object())
    return complain("The remembered column mappings cannot be read.", memory.string(),
                    "Move that file away; mappings can be given again.");
  return json.contains(header) ? columns_of(json[header]) : ColumnMap{};
}

Result<void> remember_mapping(const std::filesystem::path& memory, const std::string& header, const ColumnMap& columns) {
  nlohmann::json json = nlohmann::json::object();
  if (auto text = whole_file(memory)) {
    auto before = nlohmann::json::parse(*text, nullptr, false);
    if (before.is_object()) json = std::move(before);
  }
  json[header] = nlohmann::json::parse(columns_json(columns));
  std::error_code error;
  std::filesystem::create_directories(memory.parent_path(), error);
  const std::filesystem::path unfinished = memory.string() + ".unfinished";
  {
    std::ofstream stream{unfinished, std::ios::binary | std::ios::trunc};
    stream << json.dump(2) << '\n';
    stream.close();
    if (!stream)
      return complain("The column mapping could not be remembered.", memory.string(),
                      "Check the folder; the import itself is done.");
  }
  std::filesystem::rename(unfinished, memory, error);
  if (error)
    return complain("The column mapping could not be remembered: " + error.message() + ".", memory.string(), "Check the folder.");
  return {};
}

}  // namespace coldstroke::daq
