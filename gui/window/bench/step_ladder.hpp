// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <vector>

#include "daq/bench/bench_view.hpp"

namespace coldstroke::gui {

/// The steps of a trial from top to bottom: what is done, where we are, what comes. The last line is for the steps beside the
/// ladder: idle, aborting, keep clear, locked out.
class StepLadder : public QWidget {
  Q_OBJECT
 public:
  explicit StepLadder(QWidget* parent = nullptr);
  void show(const daq::BenchView& view);
  /// Whether this step is one of those beside the ladder.
  [[nodiscard]] static bool beside(daq::Step step);
  [[nodiscard]] QSize sizeHint() const override;
  [[nodiscard]] QSize minimumSizeHint() const override { return sizeHint(); }

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  void paintLine(QPainter& painter, int top, const QString& number, const daq::StepLine& step);
  std::vector<daq::StepLine> steps_;
  daq::StepLine beside_;
};

}  // namespace coldstroke::gui
