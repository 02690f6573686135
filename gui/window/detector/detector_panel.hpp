// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the panels of the detector page have in common: what they work on, choices among detectors, and saving what they show.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <vector>

#include "analysis/detector/detector_spec.hpp"
#include "analysis/detector/recording.hpp"
#include "gui/window/job_panel.hpp"

class QComboBox;

namespace coldstroke::gui {

/// What the page has open.
struct DetectorData {
  std::shared_ptr<const std::vector<analysis::Recording>> library = std::make_shared<std::vector<analysis::Recording>>();
  QString library_name;
  std::vector<analysis::DetectorSpec> detectors;
};

/// Writes what a panel shows; the ending of the name says in which form.
using FileWriter = std::function<Result<void>(const std::filesystem::path&)>;

class DetectorPanel : public JobPanel {
  Q_OBJECT
 public:
  explicit DetectorPanel(const char* name, const QString& verb, QWidget* parent = nullptr);
  virtual void setData(const DetectorData& opened);

 Q_SIGNALS:
  void saveWanted(const QString& filter, const FileWriter& write);
  void shown();  ///< an answer

 protected:
  [[nodiscard]] QString wanting() const override;
  virtual void fillDetectors();
  void followJob() override;
  QComboBox* addDetectorChoice(const char* name, const QString& words);
  QDoubleSpinBox* addMilliseconds(const char* name, const QString& words, double low, double high, double value);
  QPushButton* addSave(const QString& filter, const FileWriter& write);
  [[nodiscard]] const analysis::DetectorSpec& chosen(const QComboBox* choice) const;
  void endRow();

  DetectorData data_;
  bool has_answer_ = false;

 private:
  std::vector<QComboBox*> choices_;
  QPushButton* save_ = nullptr;
};

}  // namespace coldstroke::gui
