// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "daq/setup/keep_out.hpp"

namespace coldstroke::gui {

/// "Keep out 45 m ✓", the stored energy and the three distances it is compared with; every warning in words.
[[nodiscard]] QStringList keep_out_lines(const daq::KeepOut& keep_out);

/// The same as a block that turns yellow when the line on the ground is nearer than one of the distances.
class KeepOutPanel : public QWidget {
  Q_OBJECT
 public:
  explicit KeepOutPanel(QWidget* parent = nullptr);
  void show(const daq::KeepOut& keep_out);
  [[nodiscard]] bool hasHeightForWidth() const override { return true; }
  [[nodiscard]] int heightForWidth(int width) const override;
  [[nodiscard]] QSize sizeHint() const override { return {190, heightForWidth(190)}; }
  [[nodiscard]] QSize minimumSizeHint() const override { return {120, heightForWidth(std::max(120, width()))}; }

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  QString headline_, words_;
  bool warns_ = false;
};

}  // namespace coldstroke::gui
