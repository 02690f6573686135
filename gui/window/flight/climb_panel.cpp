// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/flight/climb_panel.hpp"

#include <QComboBox>
#include <QEvent>
#include <QHBoxLayout>
#include <QLabel>
#include <QVBoxLayout>

#include "gui/report/climb_view.hpp"
#include "gui/report/figures.hpp"
#include "gui/window/look.hpp"
#include "gui/window/plot/charts.hpp"

namespace coldstroke::gui {

ClimbPanel::ClimbPanel(QWidget* parent) : QWidget{parent} {
  setObjectName("climb_panel");
  profile_ = new Chart{"climb_chart"};
  budget_ = new Chart{"budget_chart"};
  title_ = new QLabel{tr("Open a trial: its climb is shown here.")};
  title_->setObjectName("climb_title");
  title_->setFont(type(kHeadingPt, true));
  title_->setWordWrap(true);
  words_ = new QLabel;
  words_->setObjectName("climb_words");
  words_->setWordWrap(true);
  words_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  number_ = new QComboBox;
  number_->setObjectName("budget_choice");
  number_->setToolTip(tr("Which number's uncertainty budget is shown (JCGM 100:2008, section 5)"));
  number_->setAccessibleName(tr("Number whose uncertainty budget is shown"));
  auto* right = new QVBoxLayout;
  right->addWidget(title_);
  right->addWidget(words_);
  right->addWidget(number_);
  right->addWidget(budget_, 1);
  auto* row = new QHBoxLayout{this};
  row->addWidget(profile_, 3);
  row->addLayout(right, 2);
  connect(number_, &QComboBox::currentIndexChanged, this, &ClimbPanel::drawBudget);
  profile_->showNothing(tr("No trial is open"));
  budget_->showNothing({});
}

void ClimbPanel::show(const ReportTrial& trial) {
  trial_ = trial;
  trial_->traces = {};  // the numbers are enough, and the traces are large
  const QString before = number_->currentData().toString();
  const QSignalBlocker quiet{number_};
  number_->clear();
  for (const analysis::Metric& metric : trial.result.metrics)
    if (const MetricWords* words = metric_words(metric.name); words != nullptr && metric.measured() != nullptr)
      number_->addItem(text(words->title), text(metric.name));
  const int kept = number_->findData(before.isEmpty() ? QStringLiteral("coast_apex_metres") : before);
  if (kept >= 0) number_->setCurrentIndex(kept);
  draw();
}

void ClimbPanel::draw() {
  if (!trial_) return profile_->showNothing(tr("No trial is open"));
  title_->setText(tr("Trial %1").arg(trial_->row.number));
  const auto view = climb_view(*trial_);
  if (view) {
    QStringList lines;
    for (const std::string& line : view->sentences) lines << text(line);
    lines << tr("Computed only: inhibiting a late ignition is the flight board's own duty.");
    words_->setText(lines.join("\n"));
    profile_->showClimb(*view);
  } else {
    words_->setText(text(view.error().what + ": " + view.error().remedy + "."));
    profile_->showNothing(tr("No climb to show"));
  }
  drawBudget();
}

void ClimbPanel::drawBudget() {
  const std::string name = number_->currentData().toString().toStdString();
  const analysis::Metric* metric = trial_ ? trial_->result.metric(name) : nullptr;
  const MetricWords* words = metric_words(name);
  if (metric == nullptr || metric->measured() == nullptr || words == nullptr)
    return budget_->showNothing(tr("No number to show"));
  budget_->showBudget(text(words->title), *metric->measured(), text(words->unit), words->per_unit);
}

void ClimbPanel::changeEvent(QEvent* event) {
  QWidget::changeEvent(event);
  if (event->type() == QEvent::PaletteChange) draw();
}

}  // namespace coldstroke::gui
