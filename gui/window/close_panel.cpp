// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/close_panel.hpp"

#include <QLabel>
#include <QPushButton>
#include <QVBoxLayout>

#include "gui/report/figures.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

bool may_close(const daq::BenchView& view) {
  const bool at_rest = view.step == daq::Step::idle || view.step == daq::Step::review;
  const bool never_seen = !view.pressure_pascals && !view.links[0].talking;
  return at_rest && (view.headline == daq::Headline::safe || (view.headline == daq::Headline::unknown && never_seen));
}

ClosePanel::ClosePanel(QWidget* parent) : QWidget{parent} {
  setObjectName("close_panel");
  const auto label = [](const char* name, double points) {
    auto* made = new QLabel;
    made->setObjectName(name);
    made->setFont(type(points, points > kBodyPt));
    made->setWordWrap(true);
    return made;
  };
  const auto button = [](const char* name, const QString& words) {
    auto* made = new QPushButton{words};
    made->setObjectName(name);
    made->setMinimumHeight(44);
    made->setMaximumWidth(420);
    made->setFont(type(kHeadingPt, true));
    return made;
  };
  question_ = label("close_question", kReadoutPt);
  progress_ = label("close_progress", kBodyPt);
  vent_ = button("close_vent", tr("Abort, vent, then close"));
  stay_ = button("close_stay", tr("Stay"));
  force_ = button("close_anyway", tr("Close now, pressure not proven low"));
  force_->setToolTip(
      tr("The rig board's own watchdog vents when the heartbeat stops; nobody will watch it. Treat the rig as pressurised."));
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(48, 32, 48, 32);
  column->setSpacing(12);
  for (QWidget* one : std::initializer_list<QWidget*>{question_, vent_, stay_, progress_, force_}) column->addWidget(one);
  column->addStretch(1);
  connect(vent_, &QPushButton::clicked, this, [this] {
    venting_ = true;
    vent_->setEnabled(false);
    force_->show();
    Q_EMIT ventWanted();
  });
  connect(stay_, &QPushButton::clicked, this, [this] {
    venting_ = false;
    Q_EMIT stayWanted();
  });
  connect(force_, &QPushButton::clicked, this, &ClosePanel::readyToClose);
}

void ClosePanel::ask(const daq::BenchView& view) {
  venting_ = false;
  vent_->setEnabled(true);
  force_->hide();
  question_->setText(tr("The rig is not proven vented (%1, step %2). Vent before closing?")
                         .arg(text(daq::word(view.headline)), text(daq::word(view.step))));
  progress_->setText(tr("The trial is kept as far as it was recorded."));
  vent_->setFocus();
}

void ClosePanel::follow(const daq::BenchView& view) {
  if (!venting_) return;
  const QString pressure =
      view.pressure_pascals ? text(decimal(*view.pressure_pascals * 1.0e-5, 2)) + tr(" bar") : tr("no pressure reading");
  progress_->setText(tr("Venting: %1, step %2. The window closes by itself when the pressure is proven low.")
                         .arg(pressure, text(daq::word(view.step))));
  if (!may_close(view)) return;
  venting_ = false;
  Q_EMIT readyToClose();
}

}  // namespace coldstroke::gui
