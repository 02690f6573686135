// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QCoreApplication>
#include <string>

namespace coldstroke::gui {

/// What Qt wants to be there before ports and event loops, in a program that has no window.
struct ConsoleApplication {
  int argc = 1;
  std::string name = "coldstroke";
  char* argv[2] = {name.data(), nullptr};
  QCoreApplication application{argc, argv};
};

}  // namespace coldstroke::gui
