// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/detector_panel.hpp"

#include <QComboBox>
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

DetectorPanel::DetectorPanel(const char* name, const QString& verb, QWidget* parent) : QWidget{parent} {
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
  connect(begin_, &QPushButton::clicked, this, [this] { begin(); });
  connect(stop_, &QPushButton::clicked, this, &DetectorPanel::cancel);
  connect(job_, &BackgroundJob::changed, this, &DetectorPanel::followJob);
  connect(job_, &BackgroundJob::progressed, progress_, [this](int done, int total) {
    progress_->setRange(0, total);
    progress_->setValue(done);
  });
}

void DetectorPanel::addToRow(QWidget* widget, const QString& words) {
  if (!words.isEmpty()) {
    auto* label = new QLabel{words};
    label->setBuddy(widget);
    row_->addWidget(label);
    widget->setAccessibleName(words);
  }
  row_->addWidget(widget);
}

QLabel* DetectorPanel::addAnswer(const char* name, const QString& words, int stretch) {
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

void DetectorPanel::endRow() {
  for (QWidget* widget : std::initializer_list<QWidget*>{begin_, progress_, stop_}) row_->addWidget(widget);
  if (save_ != nullptr) row_->addWidget(save_);
  row_->addStretch(1);
  followJob();
}

QComboBox* DetectorPanel::addDetectorChoice(const char* name, const QString& words) {
  auto* choice = new QComboBox;
  choice->setObjectName(name);
  choice->setMinimumContentsLength(16);
  choice->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  choices_.push_back(choice);
  addToRow(choice, words);
  return choice;
}

QDoubleSpinBox* DetectorPanel::addNumber(const char* name, const QString& words, double low, double high, double value) {
  auto* number = new QDoubleSpinBox;
  number->setObjectName(name);
  number->setDecimals(1);
  number->setRange(low, high);
  number->setValue(value);
  number->setSuffix(" ms");
  addToRow(number, words);
  return number;
}

QPushButton* DetectorPanel::addSave(const QString& filter, const FileWriter& write) {
  save_ = new QPushButton{tr("Save")};
  save_->setObjectName(objectName() + "_save");
  save_->setToolTip(filter);
  connect(save_, &QPushButton::clicked, this, [this, filter, write] { Q_EMIT saveWanted(filter, write); });
  return save_;
}

const analysis::DetectorSpec& DetectorPanel::chosen(const QComboBox* choice) const {
  const auto at = static_cast<std::size_t>(std::max(0, choice->currentIndex()));
  return data_.detectors[std::min(at, data_.detectors.size() - 1)];
}

void DetectorPanel::setData(const DetectorData& opened) {
  cancel();
  const bool detectors_changed = data_.detectors != opened.detectors;
  data_ = opened;
  if (detectors_changed) fillDetectors();
  followJob();
}

void DetectorPanel::fillDetectors() {
  for (QComboBox* choice : choices_) {
    choice->clear();
    for (const auto& spec : data_.detectors) choice->addItem(text(spec.name));
  }
}

void DetectorPanel::followJob() {
  const bool busy = job_->busy();
  begin_->setEnabled(!busy && ready());
  begin_->setToolTip(data_.library->empty()    ? tr("Open a library first")
                     : data_.detectors.empty() ? tr("Open detectors first")
                                               : QString{});
  stop_->setVisible(busy);
  progress_->setVisible(busy);
  if (busy) progress_->setRange(0, 0);
  if (save_ != nullptr) save_->setEnabled(!busy && has_answer_);
}

void DetectorPanel::say(const QString& words) {
  message_->setText(words);
  message_->setVisible(!words.isEmpty());
}

void DetectorPanel::complain(const Complaint& complaint) {
  say(tr("%1: %2; %3.").arg(text(complaint.where), text(complaint.what), text(complaint.remedy)));
}

}  // namespace coldstroke::gui
