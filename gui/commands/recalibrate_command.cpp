// SPDX-License-Identifier: GPL-3.0-or-later
#include <iostream>
#include <memory>

#include "daq/record/trial_archive.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/trial_text.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string campaign;
  std::int64_t trial = 0;
  daq::Recalibration correction;
  bool json = false;
};

/// The numbers of the trials meant: the one named, else every recorded one.
Result<std::vector<daq::TrialRow>> meant(const daq::Campaign& campaign, const Arguments& arguments) {
  const auto rows = campaign.trials();
  if (!rows) return tl::unexpected{rows.error()};
  std::vector<daq::TrialRow> out;
  for (const daq::TrialRow& row : *rows)
    if (arguments.trial == row.number || (arguments.trial == 0 && row.status == daq::TrialStatus::recorded)) out.push_back(row);
  if (out.empty())
    return complain(
        arguments.trial == 0 ? "no recorded trial to judge again" : "there is no trial " + std::to_string(arguments.trial),
        arguments.campaign, "see the trials with: coldstroke show " + arguments.campaign);
  return out;
}

Result<std::vector<ReportTrial>> recalibrate(const Arguments& arguments) {
  auto campaign = daq::Campaign::open_or_create(arguments.campaign, "");
  if (!campaign) return tl::unexpected{campaign.error()};
  const auto rows = meant(*campaign, arguments);
  if (!rows) return tl::unexpected{rows.error()};
  // All of them are judged before anything is written: a correction that one trial refuses is refused for all.
  std::vector<ReportTrial> out;
  for (const daq::TrialRow& row : *rows) {
    auto judged = daq::judge_recalibrated(*campaign, row.number, arguments.correction);
    if (!judged) return tl::unexpected{judged.error()};
    ReportTrial trial;
    trial.row = row;
    trial.decode_notes = std::move(judged->notes);
    trial.result = std::move(judged->result);
    trial.judged = true;
    out.push_back(std::move(trial));
  }
  for (const ReportTrial& trial : out) {
    if (auto kept = daq::keep_recalibration(*campaign, trial.row.number, arguments.correction); !kept)
      return tl::unexpected{kept.error()};
    const auto stored = campaign->add_result(trial.row.number, word(trial.result.verdict), daq::result_json(trial.result));
    if (!stored) return tl::unexpected{stored.error()};
  }
  return out;
}

Exit run(const Arguments& arguments) {
  const auto trials = recalibrate(arguments);
  if (!trials) {
    print_complaint(trials.error());
    return Exit::bad_input;
  }
  Exit exit = Exit::done;
  nlohmann::ordered_json all = nlohmann::ordered_json::array();
  for (const ReportTrial& trial : *trials) {
    exit = worse(exit, exit_of(verdict_word(trial)));
    all.push_back(trial_json(trial));
  }
  if (arguments.json)
    std::cout << all.dump(2) << '\n';
  else
    print_verdict_table(std::cout, *trials);
  return exit;
}

}  // namespace

void add_recalibrate(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  daq::Recalibration& correction = arguments->correction;
  CLI::App* verb = app.add_subcommand(
      "recalibrate",
      "Put a corrected calibration of a channel beside the old one and judge the trials with it; old results stay");
  verb->add_option("campaign", arguments->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--trial", arguments->trial, "Only this trial; else every recorded one")->check(whole_number(1, kMostTrials));
  verb->add_option("--channel", correction.channel, "Channel, as named in the setup")->required();
  verb->add_option("--scale", correction.calibration.scale, "SI unit a count")->required();
  verb->add_option("--zero-counts", correction.calibration.zero_counts, "Counts that mean zero")->required();
  verb->add_option("--gain-standard-uncertainty", correction.calibration.gain_standard_uncertainty, "Relative")->required();
  verb->add_option("--zero-standard-uncertainty", correction.calibration.zero_standard_uncertainty, "SI")->required();
  verb->add_option("--reference", correction.calibration.reference, "What it was calibrated against, when")->required();
  verb->add_option("--valid-until", correction.calibration.valid_until, "ISO 8601 date");
  verb->add_option("--author", correction.author, "Who corrects it")->required();
  verb->add_option("--reason", correction.reason, "Why")->required();
  verb->add_flag("--json", arguments->json, "Machine-readable results on standard output");
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] { exit = run(*arguments); });
}

}  // namespace coldstroke::gui
