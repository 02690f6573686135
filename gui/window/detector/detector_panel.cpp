// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/detector_panel.hpp"

#include <QComboBox>
#include <QDoubleSpinBox>
#include <QPushButton>
#include <algorithm>

#include "gui/window/look.hpp"

namespace coldstroke::gui {

DetectorPanel::DetectorPanel(const char* name, const QString& verb, QWidget* parent) : JobPanel{name, verb, parent} {}

QComboBox* DetectorPanel::addDetectorChoice(const char* name, const QString& words) {
  auto* choice = new QComboBox;
  choice->setObjectName(name);
  choice->setMinimumContentsLength(16);
  choice->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  choices_.push_back(choice);
  addToRow(choice, words);
  return choice;
}

QDoubleSpinBox* DetectorPanel::addMilliseconds(const char* name, const QString& words, double low, double high, double value) {
  return addNumber(name, words, low, high, value, " ms");
}

QPushButton* DetectorPanel::addSave(const QString& filter, const FileWriter& write) {
  save_ = new QPushButton{tr("Save")};
  save_->setObjectName(objectName() + "_save");
  save_->setToolTip(filter);
  connect(save_, &QPushButton::clicked, this, [this, filter, write] { Q_EMIT saveWanted(filter, write); });
  return save_;
}

void DetectorPanel::endRow() { JobPanel::endRow(save_); }

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

QString DetectorPanel::wanting() const {
  if (data_.library->empty()) return tr("Open a library first");
  return data_.detectors.empty() ? tr("Open detectors first") : QString{};
}

void DetectorPanel::followJob() {
  JobPanel::followJob();
  if (save_ != nullptr) save_->setEnabled(!busy() && has_answer_);
}

}  // namespace coldstroke::gui
