// SPDX-License-Identifier: GPL-3.0-or-later
#include <iostream>
#include <memory>

#include "gui/commands/command.hpp"
#include "gui/commands/trial_text.hpp"
#include "gui/report/campaign_file_source.hpp"
#include "gui/report/html_report.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string campaign;
  std::int64_t trial = 0;
  bool json = false;
};

Exit show_trial(const Arguments& arguments) {
  auto trial = CampaignFileSource{arguments.campaign}.trial(arguments.trial);
  if (!trial) {
    print_complaint(trial.error());
    return Exit::bad_input;
  }
  if (arguments.json) {
    std::cout << trial_json(*trial).dump(2) << '\n';
  } else {
    print_trial(std::cout, *trial);
  }
  return Exit::done;
}

Exit show(const Arguments& arguments) {
  if (arguments.trial != 0) return show_trial(arguments);
  auto rows = CampaignFileSource{arguments.campaign}.rows();
  if (!rows) {
    print_complaint(rows.error());
    return Exit::bad_input;
  }
  std::vector<std::string> verdicts;
  for (const ReportTrial& trial : rows->trials) verdicts.push_back(verdict_word(trial));
  if (arguments.json) {
    nlohmann::ordered_json out{{"campaign", rows->name}, {"file", rows->file}, {"trials", nlohmann::ordered_json::array()}};
    for (const ReportTrial& trial : rows->trials) out["trials"].push_back(trial_json(trial));
    std::cout << out.dump(2) << '\n';
    return Exit::done;
  }
  std::cout << "campaign '" << rows->name << "', " << rows->file << '\n' << tally_sentence(verdicts) << "\n\n";
  print_verdict_table(std::cout, rows->trials);
  return Exit::done;
}

}  // namespace

void add_show(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand("show", "List the trials of a campaign file, or show one of them");
  verb->add_option("campaign", arguments->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--trial", arguments->trial, "Show this trial in full")->check(whole_number(1, kMostTrials));
  verb->add_flag("--json", arguments->json, "Machine-readable on standard output");
  verb->footer(std::string{kExitCodes} + " Showing a failed trial is no failure.");
  verb->callback([arguments, &exit] { exit = show(*arguments); });
}

}  // namespace coldstroke::gui
