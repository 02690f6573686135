// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QCheckBox>

namespace coldstroke::gui {

/// A box to tick, large enough for a gloved hand and with an edge that is seen in both looks.
class TickBox : public QCheckBox {
  Q_OBJECT
 public:
  using QCheckBox::QCheckBox;
  [[nodiscard]] QSize sizeHint() const override { return {24, 24}; }
  [[nodiscard]] QSize minimumSizeHint() const override { return sizeHint(); }

 protected:
  void paintEvent(QPaintEvent* event) override;
  [[nodiscard]] bool hitButton(const QPoint& at) const override { return rect().contains(at); }
};

}  // namespace coldstroke::gui
