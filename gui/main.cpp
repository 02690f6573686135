// SPDX-License-Identifier: GPL-3.0-or-later
#include <spdlog/sinks/stdout_color_sinks.h>
#include <spdlog/spdlog.h>
#include <CLI/CLI.hpp>

#include "gui/commands/command.hpp"

int main(int argc, char** argv) {
  using namespace coldstroke::gui;
  spdlog::set_default_logger(spdlog::stderr_color_mt("coldstroke"));  // standard output is for results
  if (argc == 1) return run_window(argc, argv);
  CLI::App app{
      "Coldstroke runs the bench on which a cold-ejection launcher throws its vehicle unarmed, and judges each trial.\n"
      "Without a verb it opens the window."};
  app.footer(std::string{kExitCodes} +
             "\nThis program's interlocks reduce mistakes; they are not a safety-rated function. It fires nothing and cannot.");
  app.require_subcommand(1);
  app.set_version_flag("--version", COLDSTROKE_VERSION);
  Exit exit = Exit::done;
  add_window(app, exit);
  add_eject(app, exit);
  add_analyse(app, exit);
  add_attach(app, exit);
  add_recalibrate(app, exit);
  add_fit(app, exit);
  add_show(app, exit);
  add_verify(app, exit);
  add_report(app, exit);
  add_sheet(app, exit);
  add_plan(app, exit);
  add_weigh(app, exit);
  add_compare(app, exit);
  add_void(app, exit);
  add_export(app, exit);
  add_import(app, exit);
  add_detector(app, exit);
  add_foreign_detector(app, exit);
  add_climb(app, exit);
  add_charge(app, exit);
  add_virtual(app, exit);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    const int code = app.exit(error);
    return code == 0 ? 0 : static_cast<int>(Exit::bad_input);
  }
  return static_cast<int>(exit);
}
