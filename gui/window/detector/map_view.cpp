// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/map_view.hpp"

#include <QKeyEvent>
#include <QMouseEvent>

namespace coldstroke::gui {

MapView::MapView(QWidget* parent) : QWidget{parent} {
  setObjectName("detector_map");
  setAccessibleName(tr("Operating map"));
  setFocusPolicy(Qt::StrongFocus);
  figure_.title = tr("No map yet: open a library and a detector table");
}

void MapView::show(MapFigure figure) {
  figure_ = std::move(figure);
  chosen_.reset();
  update();
}

void MapView::choose(analysis::MapPlace place) {
  chosen_ = place;
  update();
  Q_EMIT cellChosen(place.row, place.column);
}

void MapView::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  paint(painter, map_shapes(figure_, QSizeF{size()}, look));
  const QRectF field = map_field(QSizeF{size()});
  if (chosen_ && !figure_.map.cells.empty()) {
    const double w = field.width() / static_cast<double>(figure_.map.columns.values.size());
    const double h = field.height() / static_cast<double>(figure_.map.rows.values.size());
    painter.setPen(QPen{look.ink, 2.0, Qt::DashLine});
    painter.drawRect(QRectF{field.left() + w * static_cast<double>(chosen_->column),
                            field.bottom() - h * static_cast<double>(chosen_->row + 1), w, h}
                         .adjusted(-2.0, -2.0, 2.0, 2.0));
  }
  if (hasFocus()) {
    painter.setPen(QPen{look.ink, 1.0, Qt::DotLine});
    painter.drawRect(rect().adjusted(1, 1, -2, -2));
  }
}

void MapView::mousePressEvent(QMouseEvent* event) {
  if (const auto place = place_at(figure_, QSizeF{size()}, event->position())) choose(*place);
}

void MapView::keyPressEvent(QKeyEvent* event) {
  if (figure_.map.cells.empty()) return QWidget::keyPressEvent(event);
  const std::size_t rows = figure_.map.rows.values.size(), columns = figure_.map.columns.values.size();
  analysis::MapPlace place = chosen_.value_or(figure_.present.value_or(analysis::MapPlace{rows / 2, columns / 2}));
  switch (event->key()) {
    case Qt::Key_Up:
      if (place.row + 1 < rows) ++place.row;
      break;
    case Qt::Key_Down:
      if (place.row > 0) --place.row;
      break;
    case Qt::Key_Right:
      if (place.column + 1 < columns) ++place.column;
      break;
    case Qt::Key_Left:
      if (place.column > 0) --place.column;
      break;
    default:
      return QWidget::keyPressEvent(event);
  }
  choose(place);
}

}  // namespace coldstroke::gui
