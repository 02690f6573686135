// SPDX-License-Identifier: GPL-3.0-or-later
#include <gmock/gmock.h>

#include <QApplication>
#include <QStandardPaths>

#include "gui/window/look.hpp"

int main(int argc, char** argv) {
  qputenv("QT_QPA_PLATFORM", "offscreen");
  QStandardPaths::setTestModeEnabled(true);  // throw-away settings and documents
  QApplication application{argc, argv};
  coldstroke::gui::apply_look(application);
  testing::InitGoogleMock(&argc, argv);
  return RUN_ALL_TESTS();
}
