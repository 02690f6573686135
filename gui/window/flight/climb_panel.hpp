// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <optional>

#include "gui/report/report_trial.hpp"

class QComboBox;
class QLabel;

namespace coldstroke::gui {

class Chart;

/// One trial's unpowered climb with the ignition window shaded, its numbers, and the budget of whichever is chosen.
class ClimbPanel : public QWidget {
  Q_OBJECT
 public:
  explicit ClimbPanel(QWidget* parent = nullptr);
  void show(const ReportTrial& trial);
  [[nodiscard]] Chart* profile() const { return profile_; }
  [[nodiscard]] Chart* budget() const { return budget_; }

 protected:
  void changeEvent(QEvent* event) override;

 private:
  void draw();
  void drawBudget();

  Chart *profile_, *budget_;
  QLabel *title_, *words_;
  QComboBox* number_;
  std::optional<ReportTrial> trial_;
};

}  // namespace coldstroke::gui
