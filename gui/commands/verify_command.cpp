// SPDX-License-Identifier: GPL-3.0-or-later
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "daq/record/campaign.hpp"
#include "gui/commands/command.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string campaign;
  bool json = false;
};

Exit verify(const Arguments& arguments) {
  auto campaign = daq::Campaign::open_read_only(arguments.campaign);
  if (!campaign) {
    print_complaint(campaign.error());
    return Exit::bad_input;
  }
  const auto report = campaign->verify();
  if (!report) {
    print_complaint(report.error());
    return Exit::failed;
  }
  if (arguments.json) {
    std::cout << nlohmann::ordered_json{{"intact", report->findings.empty()},
                                        {"trials", report->trials},
                                        {"raw_rows", report->raw_rows},
                                        {"findings", report->findings}}
                     .dump(2)
              << '\n';
  } else {
    for (const std::string& finding : report->findings) std::cout << finding << '\n';
    std::cout << arguments.campaign << ": " << report->trials << " trials, " << report->raw_rows << " raw rows, "
              << (report->findings.empty() ? "intact" : std::to_string(report->findings.size()) + " findings") << '\n';
  }
  return report->findings.empty() ? Exit::done : Exit::failed;
}

}  // namespace

void add_verify(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand("verify", "Check that nothing in a campaign file was altered or lost");
  verb->add_option("campaign", arguments->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_flag("--json", arguments->json, "Machine-readable on standard output");
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] { exit = verify(*arguments); });
}

}  // namespace coldstroke::gui
