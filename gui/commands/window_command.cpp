// SPDX-License-Identifier: GPL-3.0-or-later
#include <QApplication>
#include <QScreen>
#include <memory>

#include "gui/commands/command.hpp"
#include "gui/window/look.hpp"
#include "gui/window/main_window.hpp"

namespace coldstroke::gui {

namespace {

struct Arguments {
  std::string setup, campaign;
  bool virtual_rig = false;
};

int show_window(int argc, char** argv, const Arguments& arguments) {
  QApplication application{argc, argv};
  QApplication::setApplicationName("Coldstroke");
  QApplication::setApplicationVersion(COLDSTROKE_VERSION);
  apply_look(application);
  MainWindow window{real_doors()};
  // Left to itself, Qt takes two thirds of the screen for a first window.
  const QSize room = window.screen()->availableSize(), wanted = window.sizeHint();
  window.resize(wanted.boundedTo(room));
  if (window.size() == wanted)
    window.show();
  else
    window.showMaximized();
  if (!arguments.campaign.empty()) window.openCampaign(arguments.campaign);
  if (!arguments.setup.empty()) window.openSetup(arguments.setup);
  if (arguments.virtual_rig) window.openVirtualRig();
  return QApplication::exec();
}

}  // namespace

int run_window(int argc, char** argv) { return show_window(argc, argv, {}); }

void add_window(CLI::App& app, Exit& exit) {
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand("window", "The window, as without a verb; with an option it opens something at once");
  auto* setup = verb->add_option("--setup", arguments->setup, "Connect to the rig of this setup file (docs/setup.md)");
  verb->add_option("--campaign", arguments->campaign, "Look at this campaign file");
  verb->add_flag("--virtual", arguments->virtual_rig, "Use the virtual rig")->excludes(setup);
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] {
    int argc = 1;
    std::string name = "coldstroke";
    char* argv[] = {name.data(), nullptr};
    if (show_window(argc, argv, *arguments) != 0) exit = Exit::bench_trouble;
  });
}

}  // namespace coldstroke::gui
