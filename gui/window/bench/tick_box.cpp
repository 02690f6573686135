// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/tick_box.hpp"

#include <QPainter>

#include "gui/window/look.hpp"

namespace coldstroke::gui {

void TickBox::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  const QRect box = QRect{0, 0, 18, 18}.translated((width() - 18) / 2, (height() - 18) / 2);
  painter.fillRect(box, isEnabled() ? look.sheet : look.paper);
  painter.setPen(QPen{look.muted, 1.0});
  painter.drawRect(box.adjusted(0, 0, -1, -1));
  if (isChecked()) {
    painter.setPen(isEnabled() ? look.ink : look.muted);
    painter.setFont(type(kHeadingPt, true));
    painter.drawText(box, Qt::AlignCenter, QStringLiteral("✓"));
  }
  if (hasFocus()) {
    painter.setPen(QPen{look.ink, 2.0});
    painter.drawRect(rect().adjusted(1, 1, -1, -1));
  }
}

}  // namespace coldstroke::gui
