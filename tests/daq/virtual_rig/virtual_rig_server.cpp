// SPDX-License-Identifier: GPL-3.0-or-later
//
// The virtual rig as a program by itself, with the options of the verb, so that the tests of this folder need no other part.
#include <CLI/CLI.hpp>
#include <iostream>

#include "daq/virtual_rig/serve.hpp"

int main(int count, char** words) {
  coldstroke::daq::VirtualRigOptions options;
  CLI::App app{"virtual rig"};
  double seconds = 0.0;
  app.add_option("--scenario", options.scenario);
  app.add_option("--seed", options.seed);
  app.add_option("--fault", options.faults);
  app.add_option("--truth", options.truth_file);
  app.add_option("--board-log", options.board_log_file);
  app.add_option("--ports-file", options.ports_file);
  app.add_option("--rig-link", options.rig_link);
  app.add_option("--flight-link", options.flight_link);
  app.add_option("--for", seconds);
  app.add_flag("--lockstep", options.lockstep);
  app.add_flag("--end-with-input", options.end_with_input);
  CLI11_PARSE(app, count, words);
  if (seconds > 0.0) options.for_seconds = seconds;
  const auto code = coldstroke::daq::run_virtual_rig(options);
  if (code) return *code;
  std::cerr << code.error().what << " " << code.error().where << " " << code.error().remedy << "\n";
  return 1;
}
