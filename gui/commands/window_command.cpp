// SPDX-License-Identifier: GPL-3.0-or-later
#include <QApplication>

#include "gui/commands/command.hpp"
#include "gui/window/look.hpp"
#include "gui/window/main_window.hpp"

namespace coldstroke::gui {

int run_window(int argc, char** argv) {
  QApplication application{argc, argv};
  QApplication::setApplicationName("Coldstroke");
  QApplication::setApplicationVersion(COLDSTROKE_VERSION);
  apply_look(application);
  MainWindow window{real_doors()};
  window.show();
  return QApplication::exec();
}

}  // namespace coldstroke::gui
