// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "gui/report/figure.hpp"

namespace coldstroke::gui {

/// Shows a figure of the sheet on screen, in the theme's colours, scaled to the width there is.
class DriftView : public QWidget {
  Q_OBJECT
 public:
  explicit DriftView(QWidget* parent = nullptr);
  void show(Figure figure);
  [[nodiscard]] QSize minimumSizeHint() const override { return {320, 110}; }

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  Figure figure_;
};

}  // namespace coldstroke::gui
