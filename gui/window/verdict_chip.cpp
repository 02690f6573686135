// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/verdict_chip.hpp"

#include <QPainter>

#include "gui/window/look.hpp"

namespace coldstroke::gui {

VerdictChip::VerdictChip(QWidget* parent) : QLabel{parent} { setFont(type(kReadoutPt, true)); }

void VerdictChip::show(std::string_view verdict, const QString& before) {
  verdict_ = verdict;
  const QString words = before + verdict_label(verdict);
  if (words == text()) return;
  setText(words);
  updateGeometry();
}

QSize VerdictChip::sizeHint() const { return {fontMetrics().horizontalAdvance(text()) + 20, fontMetrics().height() + 10}; }

void VerdictChip::paintEvent(QPaintEvent*) {
  QPainter painter{this};
  paint_chip(painter, rect(), verdict_meaning(verdict_), look_of(this), text(), font());
}

}  // namespace coldstroke::gui
