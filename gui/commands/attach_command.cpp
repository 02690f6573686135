// SPDX-License-Identifier: GPL-3.0-or-later
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <memory>

#include "daq/record/trial_archive.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/trial_text.hpp"
#include "gui/report/rejudge.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string campaign, log;
  std::int64_t trial = 0;
  std::vector<std::string> columns;
  bool board_clock = false, json = false;
};

Result<daq::FlightLog> read_log(const Arguments& arguments) {
  daq::FlightLog log;
  log.name = std::filesystem::path{arguments.log}.filename().string();
  log.board_clock = arguments.board_clock;
  for (const std::string& text : arguments.columns) {
    auto mapping = daq::parse_column_mapping(text);
    if (!mapping) return tl::unexpected{mapping.error()};
    log.columns.insert(std::move(*mapping));
  }
  std::ifstream in{arguments.log, std::ios::binary};
  log.text.assign(std::istreambuf_iterator<char>{in}, {});
  if (!in)
    return complain("The log cannot be read: " + std::string{std::strerror(errno)} + ".", arguments.log,
                    "Check the name and that you may read it.");
  return log;
}

Result<ReportTrial> attach(const Arguments& arguments) {
  const auto log = read_log(arguments);
  if (!log) return tl::unexpected{log.error()};
  auto campaign = daq::Campaign::open_or_create(arguments.campaign, "");
  if (!campaign) return tl::unexpected{campaign.error()};
  auto judged = daq::attach_flight_log(*campaign, arguments.trial, *log);
  if (!judged) return tl::unexpected{judged.error()};
  auto row = campaign->trial(arguments.trial);
  if (!row) return tl::unexpected{row.error()};
  return report_of(std::move(*row), std::move(*judged));
}

Exit run(const Arguments& arguments) {
  const auto trial = attach(arguments);
  if (!trial) {
    print_complaint(trial.error());
    return Exit::bad_input;
  }
  if (arguments.json)
    std::cout << trial_json(*trial).dump(2) << '\n';
  else
    print_trial(std::cout, *trial);
  return exit_of(verdict_word(*trial));
}

}  // namespace

void add_attach(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb =
      app.add_subcommand("attach", "Attach the flight board's own log (CSV) to an archived trial, and judge the trial with it");
  verb->add_option("campaign", arguments->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--trial", arguments->trial, "Which trial the log belongs to")
      ->required()
      ->check(whole_number(1, kMostTrials));
  verb->add_option("--flight-log", arguments->log, "The log: time, acceleration, detector 0/1")
      ->required()
      ->check(CLI::ExistingFile);
  verb->add_option("--column", arguments->columns,
                   "NAME=ROLE:UNIT for a column of the log, as for analyse, e.g. 'az=acceleration:g'");
  verb->add_flag(
      "--board-clock", arguments->board_clock,
      "The log's times are the board's own clock, as in its frames: it is placed by the trial's clock exchange. Without "
      "this it is placed by the pulse that force and acceleration share");
  verb->add_flag("--json", arguments->json, "Machine-readable result on standard output");
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] { exit = run(*arguments); });
}

}  // namespace coldstroke::gui
