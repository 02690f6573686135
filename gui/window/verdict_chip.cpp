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
  fit();
  updateGeometry();
}

QSize VerdictChip::minimumSizeHint() const {
  return {QFontMetrics{type(kHeadingPt, true)}.horizontalAdvance(text()) + 8, sizeHint().height()};
}

QSize VerdictChip::sizeHint() const {
  const QFontMetrics large{type(kReadoutPt, true)};
  return {large.horizontalAdvance(text()) + 20, large.height() + 10};
}

// "Trial 1234: – aborted" in a narrow column: smaller letters rather than a word cut off.
void VerdictChip::fit() {
  const bool fits = QFontMetrics{type(kReadoutPt, true)}.horizontalAdvance(text()) + 8 <= width();
  setFont(type(fits ? kReadoutPt : kHeadingPt, true));
}

void VerdictChip::resizeEvent(QResizeEvent*) { fit(); }

void VerdictChip::paintEvent(QPaintEvent*) {
  QPainter painter{this};
  paint_chip(painter, rect(), verdict_meaning(verdict_), look_of(this), text(), font());
}

}  // namespace coldstroke::gui
