// SPDX-License-Identifier: GPL-3.0-or-later
//
// Waiting for a running bench without sleeping.
#pragma once

#include <QEventLoop>
#include <QObject>
#include <QTimer>
#include <functional>

#include "gui/window/bench_source.hpp"

namespace coldstroke::gui {

inline constexpr int kPatienceMilliseconds = 150'000;

/// Turns the event loop until `done`, asked at each new view; false once patience is over.
inline bool wait_for(BenchSource& bench, const std::function<bool(const daq::BenchView&)>& done) {
  QEventLoop loop;
  bool came = false;
  const auto look = [&] {
    came = came || done(*bench.view());
    if (came) loop.quit();
  };
  const auto watching = QObject::connect(&bench, &BenchSource::viewChanged, &loop, look);
  QTimer::singleShot(kPatienceMilliseconds, &loop, &QEventLoop::quit);
  look();
  if (!came) loop.exec();
  QObject::disconnect(watching);
  return came;
}

}  // namespace coldstroke::gui
