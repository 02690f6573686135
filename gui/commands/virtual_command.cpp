// SPDX-License-Identifier: GPL-3.0-or-later
#include <fstream>
#include <iostream>
#include <memory>

#include "daq/virtual_rig/scenario_setup.hpp"
#include "daq/virtual_rig/serve.hpp"
#include "gui/commands/command.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  daq::VirtualRigOptions rig;
  double for_seconds = 0.0;
  std::string setup_out;
};

Exit write_setup(const std::string& file, const std::string& scenario) {
  const auto text = daq::setup_text_for(scenario);
  if (!text) {
    print_complaint(text.error());
    return Exit::bad_input;
  }
  if (std::ifstream{file}.good()) {
    print_complaint({"the file exists and is left as it is", file, "name another file"});
    return Exit::bad_input;
  }
  std::ofstream out{file, std::ios::binary};
  out << *text;
  out.close();
  if (!out) {
    print_complaint({"the setup cannot be written", file, "choose another place or free some room"});
    return Exit::bad_input;
  }
  std::cout << "setup of the virtual rig: " << file << '\n';
  return Exit::done;
}

}  // namespace

void add_virtual(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand("virtual", "The virtual rig: real physics and board code behind two pseudo-terminals");
  verb->add_option("--scenario", arguments->rig.scenario, "Built-in scenario or FILE.toml (docs/virtual-rig.md)")
      ->capture_default_str();
  verb->add_option("--seed", arguments->rig.seed, "Seed of all scatter")
      ->check(whole_number(0, kHighestSeed))
      ->capture_default_str();
  verb->add_option("--fault", arguments->rig.faults, "NAME or NAME,key=value,... beside the scenario's own; may be repeated");
  verb->add_option("--truth", arguments->rig.truth_file, "Add what really happened, one JSON line an ejection");
  verb->add_option("--board-log", arguments->rig.board_log_file, "Add the rig board's state, one JSON line a change");
  verb->add_option("--ports-file", arguments->rig.ports_file, "Write the two port names here once they are open");
  verb->add_option("--rig-link", arguments->rig.rig_link, "Symbolic link to keep pointing at the rig board's port");
  verb->add_option("--flight-link", arguments->rig.flight_link, "Symbolic link to keep pointing at the flight board's port");
  verb->add_option("--for", arguments->for_seconds, "Stop after so many seconds")->check(number_within(kSmallest, kLargest));
  verb->add_flag("--lockstep", arguments->rig.lockstep, "Simulated time, in step with a host over standard input and output");
  verb->add_flag("--end-with-input", arguments->rig.end_with_input, "End when standard input ends: for a program that starts it");
  verb->add_option("--write-setup", arguments->setup_out,
                   "Write the setup file that fits the virtual rig and its scenario, and end");
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] {
    if (!arguments->setup_out.empty()) {
      exit = write_setup(arguments->setup_out, arguments->rig.scenario);
      return;
    }
    if (arguments->for_seconds > 0.0) arguments->rig.for_seconds = arguments->for_seconds;
    const auto code = daq::run_virtual_rig(arguments->rig);
    if (!code) {
      print_complaint(code.error());
      exit = Exit::bad_input;
    }
  });
}

}  // namespace coldstroke::gui
