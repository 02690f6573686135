// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QAbstractButton>
#include <QElapsedTimer>
#include <QTimer>

namespace coldstroke::gui {

/// The one next action. With `hold` it must be held down, by mouse or by Space or Enter, until its bar is full; letting go,
/// leaving it, losing the focus, or the action changing meanwhile cancels. Without `hold` a press is enough.
class HoldButton : public QAbstractButton {
  Q_OBJECT
 public:
  static constexpr int kHoldMilliseconds = 1200;
  explicit HoldButton(QWidget* parent = nullptr);
  /// What it will do and whether it must be held. A change cancels a hold under way.
  void setAction(const QString& words, bool hold);
  void setHoldMilliseconds(int milliseconds) { hold_milliseconds_ = milliseconds; }
  [[nodiscard]] bool holding() const { return tick_.isActive(); }
  /// 0..1 of the hold under way, 0 otherwise.
  [[nodiscard]] double progress() const;
  [[nodiscard]] QSize sizeHint() const override { return {180, 72}; }
  [[nodiscard]] QSize minimumSizeHint() const override { return {120, 64}; }

 Q_SIGNALS:
  /// Held to the end, or pressed where no hold is asked for.
  void confirmed();
  void cancelled();

 protected:
  void paintEvent(QPaintEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void keyReleaseEvent(QKeyEvent* event) override;
  void focusOutEvent(QFocusEvent* event) override;
  void changeEvent(QEvent* event) override;
  void hideEvent(QHideEvent* event) override;

 private:
  void begin();
  void cancel();
  void advance();
  bool hold_ = false;
  int hold_milliseconds_ = kHoldMilliseconds;
  QTimer tick_;
  QElapsedTimer held_;
};

/// The way to safe: always enabled, acts on the press itself, never needs a hold.
class AbortButton : public QAbstractButton {
  Q_OBJECT
 public:
  explicit AbortButton(QWidget* parent = nullptr);
  [[nodiscard]] QSize sizeHint() const override { return {136, 60}; }
  [[nodiscard]] QSize minimumSizeHint() const override { return {112, 48}; }

 protected:
  void paintEvent(QPaintEvent* event) override;
};

}  // namespace coldstroke::gui
