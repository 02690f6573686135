// SPDX-License-Identifier: GPL-3.0-or-later
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "daq/record/campaign.hpp"
#include "gui/commands/command.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string campaign, head;
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
  const auto head = campaign->head();
  std::optional<std::int64_t> since;
  if (!arguments.head.empty()) {
    const auto found = campaign->entries_since(arguments.head);
    if (!found) {
      print_complaint(found.error());
      return Exit::failed;
    }
    since = *found;
  }
  const bool head_lost = !arguments.head.empty() && !since;
  if (arguments.json) {
    std::cout << nlohmann::ordered_json{{"intact", report->findings.empty()},
                                        {"trials", report->trials},
                                        {"raw_rows", report->raw_rows},
                                        {"head", head ? head->hex : ""},
                                        {"findings", report->findings}}
                     .dump(2)
              << '\n';
  } else {
    for (const std::string& finding : report->findings) std::cout << finding << '\n';
    std::cout << arguments.campaign << ": " << report->trials << " trials, " << report->raw_rows << " raw rows, "
              << (report->findings.empty() ? "intact" : std::to_string(report->findings.size()) + " findings") << '\n';
  }
  if (!arguments.json && head) std::cout << "head of the chain " << head->hex << ", entry " << head->entries << '\n';
  if (!arguments.json && !arguments.head.empty())
    std::cout << (since ? "the given head is in the chain; " + std::to_string(*since) + " entries were added since"
                        : std::string{"THE GIVEN HEAD IS NOT IN THE CHAIN: this is not the file that it was taken from"})
              << '\n';
  return report->findings.empty() && !head_lost ? Exit::done : Exit::failed;
}

}  // namespace

void add_verify(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand("verify", "Check that nothing in a campaign file was altered or lost");
  verb->add_option("campaign", arguments->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--head", arguments->head, "Head of the chain as printed on a sheet: is it still in this file?");
  verb->add_flag("--json", arguments->json, "Machine-readable on standard output");
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] { exit = verify(*arguments); });
}

}  // namespace coldstroke::gui
