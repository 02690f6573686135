// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/hold_button.hpp"

#include <QKeyEvent>
#include <QMouseEvent>
#include <QPainter>
#include <algorithm>

#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

bool presses(const QKeyEvent& event) {
  return event.key() == Qt::Key_Space || event.key() == Qt::Key_Return || event.key() == Qt::Key_Enter;
}

void paint_focus(QPainter& painter, const QRect& field, const QColor& colour) {
  painter.setBrush(Qt::NoBrush);
  painter.setPen(QPen{colour, 2.0});
  painter.drawRect(field.adjusted(4, 4, -5, -5));
}

}  // namespace

HoldButton::HoldButton(QWidget* parent) : QAbstractButton{parent} {
  setObjectName("next_action");
  setFocusPolicy(Qt::StrongFocus);
  setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
  tick_.setInterval(16);
  connect(&tick_, &QTimer::timeout, this, &HoldButton::advance);
}

void HoldButton::setAction(const QString& words, bool hold) {
  if (words == text() && hold == hold_) return;
  cancel();
  hold_ = hold;
  setText(words);
  setAccessibleName(words);
  setToolTip(hold ? tr("Hold it down with the mouse, Space or Enter until the bar is full. Let go to cancel.") : QString{});
  update();
}

double HoldButton::progress() const {
  if (!holding()) return 0.0;
  return std::min(1.0, static_cast<double>(held_.elapsed()) / std::max(1, hold_milliseconds_));
}

void HoldButton::begin() {
  if (!isEnabled() || holding()) return;
  setDown(true);
  if (!hold_) {
    setDown(false);
    Q_EMIT confirmed();
    return;
  }
  held_.start();
  tick_.start();
  update();
}

void HoldButton::cancel() {
  setDown(false);
  if (!holding()) return;
  tick_.stop();
  update();
  Q_EMIT cancelled();
}

void HoldButton::advance() {
  update();
  if (held_.elapsed() < hold_milliseconds_) return;
  tick_.stop();
  setDown(false);
  Q_EMIT confirmed();
}

void HoldButton::mousePressEvent(QMouseEvent* event) {
  if (event->button() == Qt::LeftButton) begin();
}
void HoldButton::mouseMoveEvent(QMouseEvent* event) {
  if (!rect().contains(event->position().toPoint())) cancel();
}
void HoldButton::mouseReleaseEvent(QMouseEvent*) { cancel(); }
void HoldButton::keyPressEvent(QKeyEvent* event) {
  if (!presses(*event)) return QAbstractButton::keyPressEvent(event);
  if (!event->isAutoRepeat()) begin();
}
void HoldButton::keyReleaseEvent(QKeyEvent* event) {
  if (!presses(*event)) return QAbstractButton::keyReleaseEvent(event);
  if (!event->isAutoRepeat()) cancel();
}
void HoldButton::focusOutEvent(QFocusEvent* event) {
  cancel();
  QAbstractButton::focusOutEvent(event);
}
void HoldButton::changeEvent(QEvent* event) {
  if (event->type() == QEvent::EnabledChange && !isEnabled()) cancel();
  QAbstractButton::changeEvent(event);
}
void HoldButton::hideEvent(QHideEvent* event) {
  cancel();
  QAbstractButton::hideEvent(event);
}

void HoldButton::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  const Meaning meaning = isEnabled() ? Meaning::mandatory : Meaning::none;
  paint_field(painter, rect(), meaning, look);
  if (!isEnabled()) {
    painter.setPen(look.line);
    painter.drawRect(rect().adjusted(0, 0, -1, -1));
  }
  const QColor ink = isEnabled() ? look.text_on(meaning) : look.muted;
  painter.setPen(ink);
  painter.setFont(type(kHeadingPt, true));
  const QRect words = rect().adjusted(8, 6, -8, hold_ ? -18 : -6);
  painter.drawText(words, Qt::AlignCenter | Qt::TextWordWrap, text());
  if (hold_ && isEnabled()) {
    const QRect track{10, height() - 16, width() - 20, 8};
    painter.setPen(ink);
    painter.drawRect(track);
    painter.fillRect(QRectF{track.left() + 1.0, track.top() + 1.0, (track.width() - 1.0) * progress(), track.height() - 1.0},
                     ink);
  }
  if (hasFocus()) paint_focus(painter, rect(), ink);
}

AbortButton::AbortButton(QWidget* parent) : QAbstractButton{parent} {
  setObjectName("abort");
  setText(tr("ABORT"));
  setAccessibleName(tr("Abort and vent"));
  setToolTip(tr("Stops the trial and vents at once. Keys: F12 or Pause, from everywhere."));
  setFocusPolicy(Qt::StrongFocus);
  setSizePolicy(QSizePolicy::Fixed, QSizePolicy::Expanding);
}

void AbortButton::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  paint_field(painter, rect(), Meaning::danger, look);
  if (isDown()) painter.fillRect(rect(), QColor{0, 0, 0, 70});
  painter.setPen(Qt::white);
  painter.setFont(type(kReadoutPt, true));
  painter.drawText(rect().adjusted(0, 4, 0, -18), Qt::AlignCenter, text());
  painter.setFont(type(kBodyPt));
  painter.drawText(rect().adjusted(0, height() - 24, 0, -5), Qt::AlignCenter, tr("and vent · F12"));
  if (hasFocus()) paint_focus(painter, rect(), Qt::white);
}

}  // namespace coldstroke::gui
