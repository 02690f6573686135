// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <optional>

#include "gui/report/charge_plan_of.hpp"

class QCheckBox;
class QComboBox;
class QDoubleSpinBox;
class QLabel;
class QPushButton;
class QSpinBox;

namespace coldstroke::gui {

class Chart;

/// The charge plan: what was fitted, how well, and the answer to "which charge gives this speed". It only answers: the charge of
/// a trial is typed by a person on the bench page.
class ChargePanel : public QWidget {
  Q_OBJECT
 public:
  explicit ChargePanel(QWidget* parent = nullptr);
  void show(const PlanMade& made);
  void showComplaint(const Complaint& complaint);
  void showOld();
  void ask();  ///< answers from the fields
  [[nodiscard]] QString answer() const;

 Q_SIGNALS:
  void planWanted();

 protected:
  void changeEvent(QEvent* event) override;

 private:
  QWidget* makeFields();
  void draw();

  Chart *predicted_, *residuals_;
  QLabel *fitted_, *answer_;
  QWidget* fields_;
  QPushButton *fit_, *ask_;
  QComboBox* quantity_;
  QDoubleSpinBox *speed_, *peak_, *mass_, *reservoir_;
  QSpinBox* valves_;
  QCheckBox* beyond_;
  std::optional<PlanMade> made_;
};

}  // namespace coldstroke::gui
