// SPDX-License-Identifier: GPL-3.0-or-later
#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "daq/record/csv_columns.hpp"
#include "daq/record/exported_trial.hpp"
#include "daq/record/trace_export.hpp"

namespace coldstroke::daq {
namespace {

void write_text(const std::filesystem::path& file, const std::string& text) {
  std::ofstream stream{file, std::ios::binary | std::ios::trunc};
  stream << text;
  stream.close();
  if (!stream) throw std::runtime_error{file.filename().string() + " could not be written"};
}

std::string line(const std::vector<std::string>& cells) {
  std::string text;
  for (const std::string& one : cells) text += (text.empty() ? "" : ",") + csv_cell(one);
  return text + "\r\n";
}

std::string dictionary() {
  std::string text = line({"file", "column", "unit", "meaning"});
  const auto add = [&](const char* file, const std::string& column, const char* unit, const char* meaning) {
    text += line({file, column, unit, meaning});
  };
  add("trials.csv", "trial", "", "number within the campaign, 1, 2, 3 ...");
  add("trials.csv", "started_utc", "", "ISO 8601, UTC");
  add("trials.csv", "virtual_rig", "", "1: simulated, no gas and no vehicle");
  add("trials.csv", "origin", "", "bench, or what it was imported from");
  add("trials.csv", "verdict", "", "pass, fail or void: the newest stored result");
  add("trials.csv", "voided_by_hand", "", "who set the verdict aside and why; empty: nobody");
  add("trials.csv", "outcome", "", "of the launch detector: in_time, early, late, missed, unknown");
  for (const std::string_view name : analysis::kMetricNames) {
    add("trials.csv", std::string{name}, "as the name says", "metric; empty: could not be had (result.json says why)");
    add("trials.csv", std::string{name} + "_standard_uncertainty", "as the metric", "standard uncertainty of it (JCGM 100)");
  }
  add("trial_NNNN/traces-RATEHz.csv", "time_s", "s", "from the command that opened the fast valves, rig board's clock");
  add("trial_NNNN/traces-RATEHz.csv", "force_N", "N", "force cell, as the setup says it sits and is zeroed");
  add("trial_NNNN/traces-RATEHz.csv", "supply_Pa", "Pa", "reservoir, gauge");
  add("trial_NNNN/traces-RATEHz.csv", "chamber_Pa", "Pa", "behind the piston, gauge");
  add("trial_NNNN/traces-RATEHz.csv", "acceleration_m/s2", "m/s2", "vehicle, specific force along the tube");
  add("trial_NNNN/traces-RATEHz.csv", "current_A", "A", "through the dummy load");
  add("trial_NNNN/traces-RATEHz.csv", "lateral_m/s2", "m/s2", "vehicle, specific force across the tube");
  add("trial_NNNN/traces-RATEHz.csv", "lateral2_m/s2", "m/s2", "vehicle, specific force across the tube and the first");
  add("trial_NNNN/traces-RATEHz.csv", "tilt_rad/s", "rad/s", "vehicle, rate of turn about an axis across the tube");
  add("trial_NNNN/traces-RATEHz.csv", "tilt2_rad/s", "rad/s", "vehicle, rate of turn about the other axis across the tube");
  add("trial_NNNN/traces-RATEHz.csv", "NAME [unit]", "as written", "any other channel, by its name in setup.toml");
  add("trial_NNNN/traces-RATEHz.csv", "detector", "",
      "1 at the first sample at or after each decision of the flight board, else 0");
  add("trial_NNNN/timing.json", "", "s", "release, decisions, exact time bases, alignment with its uncertainty");
  add("trial_NNNN/result.json", "", "", "metrics with budgets, criteria, findings, marks");
  add("trial_NNNN/setup.toml", "", "", "the setup in force: masses, geometry, calibration, criteria");
  return text;
}

std::string trials_head() {
  std::vector<std::string> cells{"trial", "started_utc", "virtual_rig", "origin", "verdict", "voided_by_hand", "outcome"};
  for (const std::string_view name : analysis::kMetricNames) {
    cells.emplace_back(name);
    cells.push_back(std::string{name} + "_standard_uncertainty");
  }
  return line(cells);
}

std::string trials_line(const ExportedTrial& trial) {
  std::vector<std::string> cells{
      std::to_string(trial.row.number), trial.row.started_utc, trial.row.virtual_rig ? "1" : "0", trial.row.origin,
      word(trial.result.verdict),       trial.void_words,      word(trial.result.outcome)};
  for (const std::string_view name : analysis::kMetricNames) {
    const analysis::Metric* metric = trial.result.metric(name);
    const analysis::Measured* measured = metric == nullptr ? nullptr : metric->measured();
    cells.push_back(measured == nullptr ? "" : nlohmann::json(measured->value).dump());
    cells.push_back(measured == nullptr ? "" : nlohmann::json(measured->standard_uncertainty).dump());
  }
  return line(cells);
}

Result<void> write_trial(const std::filesystem::path& folder, const ExportedTrial& trial) {
  const auto place = folder / trial_name(trial.row.number);
  std::filesystem::create_directory(place);
  write_text(place / "setup.toml", trial.setup_text);
  write_text(place / "result.json", trial.result_json);
  write_text(place / "timing.json", timing_json(trial.traces));
  const auto written = write_csv(place / "traces.csv", trial.traces);
  if (!written) return tl::unexpected{written.error()};
  return {};
}

Result<void> write_all(const Campaign& campaign, const std::filesystem::path& folder, const TrialNumbers& numbers,
                       const Progress& progress) {
  const auto name = campaign.name();
  const auto head = campaign.head();
  if (!name) return tl::unexpected{name.error()};
  if (!head) return tl::unexpected{head.error()};
  std::filesystem::create_directories(folder);
  write_text(
      folder / "README.txt",
      export_readme(*name, *head) + "\ndictionary.csv tells what each column of each file means. Tables are CSV by RFC 4180.\n");
  write_text(folder / "dictionary.csv", dictionary());
  std::string table = trials_head();
  for (std::size_t k = 0; k < numbers.size(); ++k) {
    auto trial = read_exported(campaign, numbers[k]);
    if (!trial) return tl::unexpected{trial.error()};
    if (auto done = write_trial(folder, *trial); !done) return done;
    table += trials_line(*trial);
    if (progress && !progress(k + 1, numbers.size()))
      return complain("Stopped on request.", folder.string(), "Start it again; nothing was left behind.");
  }
  write_text(folder / "trials.csv", table);
  return {};
}

}  // namespace

Result<void> export_folder(const Campaign& campaign, const std::filesystem::path& folder, const TrialNumbers& trials,
                           const Progress& progress) {
  std::error_code error;
  if (std::filesystem::exists(folder, error))
    return complain("The folder exists already.", folder.string(), "Choose another name; nothing was written over.");
  const auto numbers = chosen_trials(campaign, trials);
  if (!numbers) return tl::unexpected{numbers.error()};
  const std::filesystem::path unfinished = folder.string() + ".unfinished";
  if (std::filesystem::exists(unfinished, error))
    return complain("An unfinished export lies where this one would be made.", unfinished.string(),
                    "Remove it or choose another name.");
  Result<void> done;
  try {
    done = write_all(campaign, unfinished, *numbers, progress);
    if (done) std::filesystem::rename(unfinished, folder);
  } catch (const std::exception& wrong) {
    done = complain("The export cannot be written: " + std::string{wrong.what()} + ".", folder.string(),
                    "Check the folder and the space on the disk; nothing was left behind.");
  }
  if (!done) std::filesystem::remove_all(unfinished, error);
  return done;
}

}  // namespace coldstroke::daq
