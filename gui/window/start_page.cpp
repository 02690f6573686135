// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/start_page.hpp"

#include <QLabel>
#include <QPushButton>
#include <QVBoxLayout>

#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

QLabel* words(const QString& text, double points, bool bold) {
  auto* label = new QLabel{text};
  label->setFont(type(points, bold));
  label->setWordWrap(true);
  label->setMaximumWidth(620);
  label->setTextFormat(Qt::PlainText);
  return label;
}

}  // namespace

StartPage::StartPage(QWidget* parent) : QWidget{parent} {
  setObjectName("start_page");
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(48, 32, 48, 32);
  column->setSpacing(6);
  column->addWidget(words(tr("Nothing is connected."), kReadoutPt, true));
  column->addSpacing(8);
  const auto way = [&](const char* name, const QString& title, const QString& what, void (StartPage::*wanted)()) {
    auto* button = new QPushButton{title};
    button->setObjectName(name);
    button->setFont(type(kHeadingPt, true));
    button->setMinimumHeight(44);
    button->setMaximumWidth(340);
    connect(button, &QPushButton::clicked, this, wanted);
    column->addWidget(button);
    column->addWidget(words(what, kBodyPt, false));
    column->addSpacing(10);
  };
  way("start_virtual", tr("Use the virtual rig"),
      tr("Starts a simulated rig with both boards. No gas, no vehicle: the way to learn the bench."),
      &StartPage::virtualRigWanted);
  way("start_setup", tr("Open a setup ..."),
      tr("Connects to the rig that a setup file describes: ports, channels, charge, criteria."), &StartPage::setupWanted);
  way("start_campaign", tr("Open a campaign ..."), tr("Looks at trials recorded before. Connects to nothing."),
      &StartPage::campaignWanted);
  complaint_ = words({}, kBodyPt, true);
  complaint_->setObjectName("start_complaint");
  complaint_->hide();
  column->addWidget(complaint_);
  column->addStretch(1);
  column->addWidget(
      words(tr("For inert vehicles only: no motor, no igniter. Software interlocks are not a safety-rated function; "
               "a hard-wired emergency stop and a vent that opens without power belong on every rig."),
            kBodyPt, false));
}

void StartPage::showComplaint(const Complaint& complaint) {
  complaint_->setText("✗ " + text(complaint.what) + "\n" + text(complaint.where) + "\n" + text(complaint.remedy));
  complaint_->show();
}

void StartPage::clearComplaint() { complaint_->hide(); }

}  // namespace coldstroke::gui
