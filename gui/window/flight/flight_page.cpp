// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/flight/flight_page.hpp"

#include <QTabWidget>
#include <QVBoxLayout>

#include "gui/window/flight/charge_panel.hpp"
#include "gui/window/flight/climb_panel.hpp"

namespace coldstroke::gui {

FlightPage::FlightPage(QWidget* parent) : QWidget{parent} {
  setObjectName("flight_page");
  tabs_ = new QTabWidget;
  tabs_->setObjectName("flight_tabs");
  tabs_->setDocumentMode(true);
  climb_ = new ClimbPanel;
  charge_ = new ChargePanel;
  tabs_->addTab(climb_, tr("Ignition window"));
  tabs_->addTab(charge_, tr("Charge plan"));
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(8, 8, 8, 8);
  column->addWidget(tabs_);
  setFocusProxy(tabs_);
  connect(charge_, &ChargePanel::planWanted, this, &FlightPage::planWanted);
}

void FlightPage::show(const ReportTrial& trial) { climb_->show(trial); }
void FlightPage::show(const PlanMade& made) { charge_->show(made); }
void FlightPage::showPlanComplaint(const Complaint& complaint) { charge_->showComplaint(complaint); }
void FlightPage::showCampaignChanged() { charge_->showOld(); }

}  // namespace coldstroke::gui
