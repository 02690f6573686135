// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/rail.hpp"

#include <QPainter>
#include <QShortcut>
#include <QVBoxLayout>

#include "gui/window/look.hpp"

namespace coldstroke::gui {

RailButton::RailButton(const QString& key, const QString& name, QWidget* parent) : QAbstractButton{parent}, key_{key} {
  setText(name);
  setAccessibleName(name);
  setToolTip(tr("%1 page (key %2)").arg(name, key));
  setCheckable(true);
  setObjectName("rail_" + name.toLower());
  setSizePolicy(QSizePolicy::Fixed, QSizePolicy::Fixed);
  setFocusPolicy(Qt::StrongFocus);
}

void RailButton::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  painter.fillRect(rect(), isChecked() ? look.sheet : look.paper);
  if (isChecked()) painter.fillRect(QRect{0, 0, 4, height()}, look.ink);
  painter.setPen(!isEnabled() ? look.line : isChecked() ? look.ink : look.muted);
  painter.setFont(type(kReadoutPt, true));
  painter.drawText(rect().adjusted(0, 2, 0, -22), Qt::AlignCenter, key_);
  painter.setFont(type(kBodyPt, isChecked()));
  painter.drawText(rect().adjusted(0, 28, 0, -4), Qt::AlignCenter, text());
  if (hasFocus()) {
    painter.setPen(QPen{look.ink, 2.0, Qt::DotLine});
    painter.drawRect(rect().adjusted(3, 3, -4, -4));
  }
}

Rail::Rail(QWidget* parent) : QWidget{parent} {
  setObjectName("rail");
  setFixedWidth(96);
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(0, 8, 0, 0);
  column->setSpacing(2);
  column->addStretch(1);
}

void Rail::add(const QString& key, const QString& name, int page) {
  auto* button = new RailButton{key, name};
  static_cast<QVBoxLayout*>(layout())->insertWidget(static_cast<int>(buttons_.size()), button);
  buttons_.emplace_back(page, button);
  connect(button, &QAbstractButton::clicked, this, [this, page] { Q_EMIT chosen(page); });
  auto* shortcut = new QShortcut{QKeySequence{key}, this};
  connect(shortcut, &QShortcut::activated, this, [this, page] { Q_EMIT chosen(page); });
}

void Rail::choose(int page) {
  for (const auto& [own, button] : buttons_) button->setChecked(own == page);
}

void Rail::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  painter.fillRect(rect(), look.paper);
  painter.fillRect(QRect{width() - 1, 0, 1, height()}, look.line);
}

}  // namespace coldstroke::gui
