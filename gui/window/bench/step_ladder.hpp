// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <vector>

#include "daq/bench/bench_view.hpp"

namespace coldstroke::gui {

/// The steps of a trial from top to bottom: what is done, where we are, what comes.
class StepLadder : public QWidget {
  Q_OBJECT
 public:
  explicit StepLadder(QWidget* parent = nullptr);
  void show(const std::vector<daq::StepLine>& steps);
  [[nodiscard]] QSize sizeHint() const override;
  [[nodiscard]] QSize minimumSizeHint() const override { return sizeHint(); }

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  std::vector<daq::StepLine> steps_;
};

}  // namespace coldstroke::gui
