// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "gui/window/detector/map_drawing.hpp"

namespace coldstroke::gui {

/// The operating map to look at: the mouse or the arrow keys choose a cell.
class MapView : public QWidget {
  Q_OBJECT
 public:
  explicit MapView(QWidget* parent = nullptr);
  void show(MapFigure figure);
  [[nodiscard]] const MapFigure& figure() const { return figure_; }
  void choose(analysis::MapPlace place);
  [[nodiscard]] std::optional<analysis::MapPlace> chosen() const { return chosen_; }
  [[nodiscard]] QSize minimumSizeHint() const override { return {420, 320}; }

 Q_SIGNALS:
  void cellChosen(qulonglong row, qulonglong column);

 protected:
  void paintEvent(QPaintEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;

 private:
  MapFigure figure_;
  std::optional<analysis::MapPlace> chosen_;
};

}  // namespace coldstroke::gui
