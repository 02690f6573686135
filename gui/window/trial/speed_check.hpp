// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <vector>

#include "analysis/trial/analyse.hpp"

namespace coldstroke::gui {

/// The exit speeds got in different ways, one under the other on one axis with their 95 % intervals: do they agree?
class SpeedCheck : public QWidget {
  Q_OBJECT
 public:
  explicit SpeedCheck(QWidget* parent = nullptr);
  void show(const analysis::TrialResult& result);
  [[nodiscard]] QSize sizeHint() const override;
  [[nodiscard]] QSize minimumSizeHint() const override { return sizeHint(); }

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  struct Line {
    QString name, value;
    double low, middle, high;
  };
  std::vector<Line> lines_;
};

}  // namespace coldstroke::gui
