// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/background_job.hpp"

namespace coldstroke::gui {

BackgroundJob::BackgroundJob(QObject* parent) : QObject{parent} { worker_.setMaxThreadCount(1); }

BackgroundJob::~BackgroundJob() {
  cancel();
  worker_.waitForDone();
}

void BackgroundJob::cancel() {
  if (stop_) *stop_ = true;
}

}  // namespace coldstroke::gui
