// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "analysis/result.hpp"

class QLabel;

namespace coldstroke::gui {

/// What the Bench shows while nothing is connected: three ways on, one click each.
class StartPage : public QWidget {
  Q_OBJECT
 public:
  explicit StartPage(QWidget* parent = nullptr);
  void showComplaint(const Complaint& complaint);
  void clearComplaint();

 Q_SIGNALS:
  void virtualRigWanted();
  void setupWanted();
  void campaignWanted();

 private:
  QLabel* complaint_;
};

}  // namespace coldstroke::gui
