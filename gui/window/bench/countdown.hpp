// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <optional>

namespace coldstroke::gui {

/// Whole seconds left to release, counted as they are spoken: 3 while 2.0 < left <= 3.0. 0 when none is left.
[[nodiscard]] int spoken_second(double left_seconds);

/// The seconds to release, large enough to be read from the line.
class Countdown : public QWidget {
  Q_OBJECT
 public:
  explicit Countdown(QWidget* parent = nullptr);
  /// Hidden while nothing is counted. Emits `second` whenever another whole second begins.
  void show(std::optional<double> left_seconds);
  [[nodiscard]] QSize sizeHint() const override { return {190, 132}; }
  [[nodiscard]] QSize minimumSizeHint() const override { return {120, 132}; }

 Q_SIGNALS:
  void second(int left);

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  int shown_ = -1;
};

}  // namespace coldstroke::gui
