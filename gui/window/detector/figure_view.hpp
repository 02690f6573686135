// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <functional>

#include "gui/window/detector/figure_shapes.hpp"

namespace coldstroke::gui {

/// A figure in the size and the look of the window.
class FigureView : public QWidget {
  Q_OBJECT
 public:
  using Shapes = std::function<std::vector<FigureShape>(const QSizeF&, const Look&)>;
  explicit FigureView(const char* name, const QString& accessible_name, QWidget* parent = nullptr) : QWidget{parent} {
    setObjectName(name);
    setAccessibleName(accessible_name);
  }
  void show(Shapes shapes) {
    shapes_ = std::move(shapes);
    update();
  }
  [[nodiscard]] QSize minimumSizeHint() const override { return {420, 260}; }

 protected:
  void paintEvent(QPaintEvent*) override {
    QPainter painter{this};
    if (shapes_)
      paint(painter, shapes_(QSizeF{size()}, look_of(this)));
    else
      painter.fillRect(rect(), look_of(this).sheet);
  }

 private:
  Shapes shapes_;
};

}  // namespace coldstroke::gui
