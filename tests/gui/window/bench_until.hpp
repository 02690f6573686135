// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QEventLoop>
#include <QTimer>
#include <functional>

#include "gui/window/bench_source.hpp"

namespace coldstroke::gui {

/// Turns the event loop until `done`, asked at each new view. False if it never is within `patience_milliseconds`.
inline bool bench_until(BenchSource& bench, const std::function<bool(const daq::BenchView&)>& done, int patience_milliseconds) {
  QEventLoop loop;
  bool came = false;
  const auto look = [&] {
    came = came || done(*bench.view());
    if (came) loop.quit();
  };
  const auto watching = QObject::connect(&bench, &BenchSource::viewChanged, &loop, look);
  QTimer::singleShot(patience_milliseconds, &loop, &QEventLoop::quit);
  look();
  if (!came) loop.exec();
  QObject::disconnect(watching);
  return came;
}

}  // namespace coldstroke::gui
