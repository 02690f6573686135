// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "daq/setup/keep_out.hpp"

namespace coldstroke::gui {

/// "903 J", "86.2 kJ", "1.20 MJ".
[[nodiscard]] QString energy_words(double joules);
/// "Keep out 45 m ✓", the stored energy and the three distances it is compared with; every warning in words.
[[nodiscard]] QStringList keep_out_lines(const daq::KeepOut& keep_out);

/// The same as a block that turns yellow when the line on the ground is nearer than one of the distances.
class KeepOutPanel : public QWidget {
  Q_OBJECT
 public:
  explicit KeepOutPanel(QWidget* parent = nullptr);
  void show(const daq::KeepOut& keep_out);
  /// What all of it takes at this width. A scroll area asks no widget for it, so the widget keeps its own least height.
  [[nodiscard]] int heightAt(int width) const;
  [[nodiscard]] QSize sizeHint() const override { return {190, heightAt(190)}; }

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;

 private:
  QString headline_, words_;
  bool warns_ = false;
};

}  // namespace coldstroke::gui
