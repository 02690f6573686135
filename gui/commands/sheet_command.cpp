// SPDX-License-Identifier: GPL-3.0-or-later
#include <QGuiApplication>
#include <iostream>
#include <memory>

#include "daq/setup/flight_configuration.hpp"
#include "gui/commands/command.hpp"
#include "gui/commands/progress_line.hpp"
#include "gui/window/detector/sheet_map.hpp"

namespace coldstroke::gui {
namespace {

struct Arguments {
  std::string campaign, flight, paper = "a4";
  std::vector<std::string> targets;
};

Exit sheet(const Arguments& arguments) {
  // Fonts need an application object; the offscreen platform needs no display.
  qputenv("QT_QPA_PLATFORM", "offscreen");
  int argc = 1;
  char name[] = "coldstroke";
  char* argv[] = {name, nullptr};
  const QGuiApplication application{argc, argv};
  SheetRequest request;
  if (!arguments.flight.empty()) {
    auto intended = daq::load_flight_configuration(arguments.flight);
    if (!intended) {
      print_complaint(intended.error());
      return Exit::bad_input;
    }
    request.intended = std::move(*intended);
  }
  for (const std::string& target : arguments.targets)
    if (const auto named = check_sheet_name(target); !named) {
      print_complaint(named.error());
      return Exit::bad_input;
    }
  const auto input = read_mapped_sheet(arguments.campaign, request, progress_line("weighing"));
  if (!input) {
    print_complaint(input.error());
    return Exit::bad_input;
  }
  std::cout << input->weighed.statement.sentence << '\n';
  for (const std::string& target : arguments.targets) {
    const auto written = write_sheet(target, *input, arguments.paper == "letter" ? PaperSize::letter : PaperSize::a4);
    if (!written) {
      print_complaint(written.error());
      return Exit::bad_input;
    }
    std::cout << "sheet: " << *written << '\n';
  }
  for (const std::string& finding : input->integrity.findings) std::cerr << finding << '\n';
  return input->integrity.findings.empty() ? Exit::done : Exit::failed;
}

}  // namespace

void add_sheet(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand("sheet", "Write the verdict sheet of a campaign, to be signed: PDF or one HTML file");
  verb->add_option("campaign", arguments->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--to", arguments->targets, "File to write, .pdf or .html; may be repeated")->required();
  verb->add_option("--paper", arguments->paper, "Paper of a PDF")->check(CLI::IsMember({"a4", "letter"}))->capture_default_str();
  verb->add_option("--flight", arguments->flight,
                   "Configuration intended for flight (TOML): lists every difference to the tested one")
      ->check(CLI::ExistingFile);
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] { exit = sheet(*arguments); });
}

}  // namespace coldstroke::gui
