// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/drift_view.hpp"

#include <algorithm>

#include "gui/report/figure_painter.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

DriftView::DriftView(QWidget* parent) : QWidget{parent} {
  setObjectName("drift_view");
  setAttribute(Qt::WA_OpaquePaintEvent);
  setMinimumSize(minimumSizeHint());
}

void DriftView::show(Figure figure) {
  figure_ = std::move(figure);
  setAccessibleName(text(figure_.label));
  update();
}

void DriftView::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  painter.fillRect(rect(), look.sheet);
  if (figure_.parts.empty()) return;
  painter.setRenderHint(QPainter::Antialiasing);
  const double scale = std::min(width() / figure_.width, height() / figure_.height);
  painter.translate(0.5 * (width() - scale * figure_.width), 0.0);
  painter.scale(scale, scale);
  paint_figure(painter, figure_, [&look](Ink ink) {
    switch (ink) {
      case Ink::ink:
        return look.ink;
      case Ink::muted:
        return look.muted;
      case Ink::grid:
        return look.line;
      case Ink::danger:
        return look.danger_line;
      default:
        return ink == Ink::limit ? look.ink : paper_colour(ink);
    }
  });
}

}  // namespace coldstroke::gui
