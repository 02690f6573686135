// SPDX-License-Identifier: GPL-3.0-or-later
#include <fstream>
#include <iostream>
#include <memory>

#include "daq/record/trace_import.hpp"
#include "daq/record/trial_archive.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/trial_text.hpp"
#include "gui/report/campaign_file_source.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string input, setup;
  std::int64_t trial = 0;
  std::vector<std::string> columns;
  bool json = false, store = false, budget = false;
};

/// Every SQLite file begins with these 16 bytes (sqlite.org/fileformat.html, section 1.3.1).
bool is_database(const std::string& file) {
  std::ifstream in{file, std::ios::binary};
  std::string head(16, '\0');
  in.read(head.data(), 16);
  return in.gcount() == 16 && head == std::string{"SQLite format 3\0", 16};
}

Exit print(const std::vector<ReportTrial>& trials, const Arguments& arguments) {
  Exit exit = Exit::done;
  for (const ReportTrial& trial : trials) exit = worse(exit, exit_of(verdict_word(trial)));
  if (arguments.json && trials.size() == 1) {
    std::cout << trial_json(trials.front()).dump(2) << '\n';
  } else if (arguments.json) {
    nlohmann::ordered_json all = nlohmann::ordered_json::array();
    for (const ReportTrial& trial : trials) all.push_back(trial_json(trial));
    std::cout << all.dump(2) << '\n';
  } else if (trials.size() == 1) {
    print_trial(std::cout, trials.front());
    if (arguments.budget) print_budgets(std::cout, trials.front().result);
  } else {
    print_verdict_table(std::cout, trials);
  }
  return exit;
}

Result<ReportTrial> analyse_csv(const Arguments& arguments) {
  if (arguments.setup.empty())
    return complain("traces need a setup: masses, geometry, criteria", arguments.input, "give --setup FILE (docs/setup.md)");
  auto setup = daq::load_setup(arguments.setup);
  if (!setup) return tl::unexpected{setup.error()};
  daq::ColumnMap columns;
  for (const std::string& text : arguments.columns) {
    auto mapping = daq::parse_column_mapping(text);
    if (!mapping) return tl::unexpected{mapping.error()};
    columns.insert(std::move(*mapping));
  }
  auto imported = daq::import_csv(arguments.input, columns, *setup);
  if (!imported) return tl::unexpected{imported.error()};
  ReportTrial trial;
  trial.row.origin = "imported " + arguments.input;
  trial.traces = std::move(imported->traces);
  trial.decode_notes = std::move(imported->notes);
  trial.result = analysis::analyse(trial.traces, setup->trial);
  trial.judged = true;
  return trial;
}

/// Judges archived trials anew from their raw bytes, with the stored setup or another one.
Result<std::vector<ReportTrial>> analyse_campaign(const Arguments& arguments) {
  std::optional<daq::Setup> other;
  if (!arguments.setup.empty()) {
    auto setup = daq::load_setup(arguments.setup);
    if (!setup) return tl::unexpected{setup.error()};
    other = std::move(*setup);
  }
  auto campaign =
      arguments.store ? daq::Campaign::open_or_create(arguments.input, "") : daq::Campaign::open_read_only(arguments.input);
  if (!campaign) return tl::unexpected{campaign.error()};
  auto rows = campaign->trials();
  if (!rows) return tl::unexpected{rows.error()};
  std::vector<ReportTrial> out;
  for (const daq::TrialRow& row : *rows) {
    if (arguments.trial != 0 && row.number != arguments.trial) continue;
    if (arguments.trial == 0 && row.status != daq::TrialStatus::recorded) continue;
    auto judged = daq::judge_trial(*campaign, row.number, other ? &*other : nullptr);
    if (!judged) return tl::unexpected{judged.error()};
    if (arguments.store) {
      const auto stored = campaign->add_result(row.number, word(judged->result.verdict), daq::result_json(judged->result));
      if (!stored) return tl::unexpected{stored.error()};
    }
    ReportTrial trial;
    trial.row = row;
    trial.traces = std::move(judged->traces);
    trial.decode_notes = std::move(judged->notes);
    trial.result = std::move(judged->result);
    trial.judged = true;
    out.push_back(std::move(trial));
  }
  if (out.empty())
    return complain(
        arguments.trial == 0 ? "no recorded trial to analyse" : "there is no trial " + std::to_string(arguments.trial),
        arguments.input, "see the trials with: coldstroke show " + arguments.input);
  return out;
}

Exit analyse(const Arguments& arguments) {
  std::vector<ReportTrial> trials;
  if (is_database(arguments.input)) {
    auto judged = analyse_campaign(arguments);
    if (!judged) {
      print_complaint(judged.error());
      return Exit::bad_input;
    }
    trials = std::move(*judged);
  } else {
    auto trial = analyse_csv(arguments);
    if (!trial) {
      print_complaint(trial.error());
      return Exit::bad_input;
    }
    trials.push_back(std::move(*trial));
  }
  return print(trials, arguments);
}

}  // namespace

void add_analyse(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand("analyse", "Analyse archived trials again, or traces recorded elsewhere (CSV)");
  verb->add_option("input", arguments->input, "TRACES.csv or a campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--setup", arguments->setup, "Setup file; for a campaign the stored one unless given")
      ->check(CLI::ExistingFile);
  verb->add_option("--trial", arguments->trial, "Only this trial of a campaign")->check(whole_number(1, kMostTrials));
  verb->add_option(
      "--column", arguments->columns,
      "NAME=ROLE:UNIT for a CSV column, e.g. 'F1=force:kN'. Roles: time, force, supply, chamber, acceleration, current, "
      "detector. Without it headers such as force_N, time_ms, accel [g] are understood");
  verb->add_flag("--store", arguments->store, "Add the new result to the campaign, beside the old ones");
  verb->add_flag("--budget", arguments->budget, "Of a single trial: print every metric's uncertainty budget, line by line");
  verb->add_flag("--json", arguments->json, "Machine-readable result on standard output");
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] { exit = analyse(*arguments); });
}

}  // namespace coldstroke::gui
