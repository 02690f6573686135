// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <memory>

#include "gui/report/charge_plan_of.hpp"
#include "gui/report/report_trial.hpp"

class QTabWidget;

namespace coldstroke::gui {

class ChargePanel;
class ClimbPanel;

/// What comes after the tube, and what charge to take next: the climb of the trial last opened, and the campaign's charge plan.
class FlightPage : public QWidget {
  Q_OBJECT
 public:
  explicit FlightPage(QWidget* parent = nullptr);
  void show(const ReportTrial& trial);  ///< the climb
  void show(const PlanMade& made);      ///< the plan
  void showPlanComplaint(const Complaint& complaint);
  void showCampaignChanged();  ///< the plan, if there is one, is of older trials
  [[nodiscard]] ClimbPanel* climb() const { return climb_; }
  [[nodiscard]] ChargePanel* charge() const { return charge_; }
  [[nodiscard]] QTabWidget* tabs() const { return tabs_; }

 Q_SIGNALS:
  void planWanted();

 private:
  QTabWidget* tabs_;
  ClimbPanel* climb_;
  ChargePanel* charge_;
};

}  // namespace coldstroke::gui
