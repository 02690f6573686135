// SPDX-License-Identifier: GPL-3.0-or-later
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "gui/commands/command.hpp"
#include "gui/commands/progress_line.hpp"
#include "gui/report/evidence_words.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string campaign, head;
  bool json = false;
};

Exit verify(const Arguments& arguments) {
  const auto checked = verify_campaign(arguments.campaign, arguments.head, progress_line("checking"));
  if (!checked) {
    print_complaint(checked.error());
    return Exit::bad_input;
  }
  if (arguments.json)
    std::cout << nlohmann::ordered_json{{"intact", checked->report.findings.empty()},
                                        {"sound", checked->sound},
                                        {"trials", checked->report.trials},
                                        {"raw_rows", checked->report.raw_rows},
                                        {"head", checked->head.hex},
                                        {"findings", checked->report.findings}}
                     .dump(2)
              << '\n';
  else
    for (const std::string& line : checked->lines) std::cout << line << '\n';
  return checked->sound ? Exit::done : Exit::failed;
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
