// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/countdown.hpp"

#include <QPainter>
#include <cmath>

#include "gui/window/look.hpp"

namespace coldstroke::gui {

int spoken_second(double left_seconds) { return static_cast<int>(std::ceil(std::max(0.0, left_seconds))); }

Countdown::Countdown(QWidget* parent) : QWidget{parent} {
  setObjectName("countdown");
  setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Fixed);
  hide();
}

void Countdown::show(std::optional<double> left_seconds) {
  const int now = left_seconds ? spoken_second(*left_seconds) : -1;
  setVisible(left_seconds.has_value());
  if (now == shown_) return;
  shown_ = now;
  if (now < 0) return;
  setAccessibleName(tr("Release in %1 seconds").arg(now));
  update();
  if (now > 0) Q_EMIT second(now);
}

void Countdown::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  paint_field(painter, rect(), Meaning::danger, look);
  painter.setPen(look.text_on(Meaning::danger));
  painter.setFont(type(kHeadingPt, true));
  painter.drawText(rect().adjusted(0, 8, 0, 0), Qt::AlignTop | Qt::AlignHCenter, tr("RELEASE IN"));
  painter.setFont(type(2.0 * kHeadlinePt, true));
  painter.drawText(rect().adjusted(0, 20, 0, 0), Qt::AlignCenter, QString::number(std::max(0, shown_)));
}

}  // namespace coldstroke::gui
