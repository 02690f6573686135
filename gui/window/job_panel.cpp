// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/job_panel.hpp"

#include <QDoubleSpinBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QProgressBar>
#include <QPushButton>
#include <QScrollArea>
#include <QVBoxLayout>

#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

JobPanel::JobPanel(const char* name, const QString& verb, QWidget* parent) : QWidget{parent} {
  setObjectName(name);
  const QString stem{name};
  job_ = new BackgroundJob{this};
  begin_ = new QPushButton{verb};
  begin_->setObjectName(stem + "_begin");
  stop_ = new QPushButton{tr("Stop")};
  stop_->setObjectName(stem + "_stop");
  progress_ = new QProgressBar;
  progress_->setObjectName(stem + "_progress");
  progress_->setMaximumWidth(160);
  message_ = wrapped_label("");
  message_->setObjectName(stem + "_message");
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(8, 8, 8, 8);
  column->setSpacing(8);
  row_ = new QHBoxLayout;
  column->addLayout(row_);
  column->addWidget(message_);
  message_->hide();
  connect(begin_, &QPushButton::clicked, this, [this] {
    if (!busy() && ready()) begin();
  });
  connect(stop_, &QPushButton::clicked, this, &JobPanel::cancel);
  connect(job_, &BackgroundJob::changed, this, [this] { followJob(); });
  connect(job_, &BackgroundJob::progressed, progress_, [this](int done, int total) {
    progress_->setRange(0, total);
    progress_->setValue(done);
  });
}

void JobPanel::addToRow(QWidget* widget, const QString& words) {
  if (!words.isEmpty()) {
    auto* label = new QLabel{words};
    label->setBuddy(widget);
    row_->addWidget(label);
    widget->setAccessibleName(words);
  }
  row_->addWidget(widget);
}

QLabel* JobPanel::addAnswer(const char* name, const QString& words, int stretch) {
  QLabel* answer = wrapped_label(name);
  answer->setMargin(6);
  answer->setTextInteractionFlags(Qt::TextSelectableByMouse);
  answer->setText(words);
  auto* scroll = new QScrollArea;
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setWidgetResizable(true);
  scroll->setWidget(answer);
  qobject_cast<QVBoxLayout*>(layout())->addWidget(scroll, stretch);
  return answer;
}

QDoubleSpinBox* JobPanel::addNumber(const char* name, const QString& words, double low, double high, double value,
                                    const QString& suffix) {
  auto* number = new QDoubleSpinBox;
  number->setObjectName(name);
  number->setDecimals(1);
  number->setRange(low, high);
  number->setValue(value);
  number->setSuffix(suffix);
  addToRow(number, words);
  return number;
}

void JobPanel::endRow(QWidget* last) {
  for (QWidget* widget : std::initializer_list<QWidget*>{begin_, progress_, stop_, last})
    if (widget != nullptr) row_->addWidget(widget);
  row_->addStretch(1);
  followJob();
}

void JobPanel::followJob() {
  begin_->setEnabled(!busy() && ready());
  begin_->setVisible(!busy());  // its room is the progress bar's then
  begin_->setToolTip(wanting());
  stop_->setVisible(busy());
  progress_->setVisible(busy());
  if (busy()) progress_->setRange(0, 0);
}

void JobPanel::say(const QString& words) {
  message_->setText(words);
  message_->setVisible(!words.isEmpty());
}

void JobPanel::complain(const Complaint& complaint) {
  say(tr("%1: %2; %3.").arg(text(complaint.where), text(complaint.what), text(complaint.remedy)));
}

}  // namespace coldstroke::gui
