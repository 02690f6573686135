// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <vector>

#include "daq/bench/bench_view.hpp"

class QComboBox;
class QLabel;
class QLineEdit;
class QPushButton;

namespace coldstroke::gui {

/// Going on although an interlock does not hold, with a reason in words, for one trial. Offered only where a bypass exists.
class BypassPanel : public QWidget {
  Q_OBJECT
 public:
  explicit BypassPanel(QWidget* parent = nullptr);
  /// Hides itself when nothing that does not hold may be bypassed.
  void show(const std::vector<daq::InterlockLine>& lines);

 Q_SIGNALS:
  void bypassWanted(QString interlock, QString reason);

 private:
  void take();
  QLabel *words_, *complaint_;
  QComboBox* which_;
  QLineEdit* reason_;
  QPushButton* go_on_;
};

}  // namespace coldstroke::gui
