// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the panels of the detector page have in common: what they work on, their job, and where they complain.
#pragma once

#include <QWidget>
#include <filesystem>
#include <functional>
#include <memory>
#include <vector>

#include "analysis/detector/detector_spec.hpp"
#include "analysis/detector/recording.hpp"
#include "analysis/result.hpp"
#include "gui/window/detector/background_job.hpp"

class QComboBox;
class QDoubleSpinBox;
class QHBoxLayout;
class QLabel;
class QProgressBar;
class QPushButton;

namespace coldstroke::gui {

/// What the page has open.
struct DetectorData {
  std::shared_ptr<const std::vector<analysis::Recording>> library = std::make_shared<std::vector<analysis::Recording>>();
  QString library_name;
  std::vector<analysis::DetectorSpec> detectors;
};

/// Writes what a panel shows; the ending of the name says in which form.
using FileWriter = std::function<Result<void>(const std::filesystem::path&)>;

/// A row of choices with one button that begins the work, a bar while it goes on, and a line for complaints.
class DetectorPanel : public QWidget {
  Q_OBJECT
 public:
  explicit DetectorPanel(const char* name, const QString& verb, QWidget* parent = nullptr);
  virtual void setData(const DetectorData& opened);
  [[nodiscard]] bool busy() const { return job_->busy(); }
  void cancel() { job_->cancel(); }
  void complain(const Complaint& complaint);

 Q_SIGNALS:
  void saveWanted(const QString& filter, const FileWriter& write);
  void shown();  ///< an answer

 protected:
  virtual void begin() = 0;
  [[nodiscard]] virtual bool ready() const { return !data_.library->empty() && !data_.detectors.empty(); }
  virtual void fillDetectors();
  void say(const QString& words);  ///< empty: nothing to say
  void followJob();
  QComboBox* addDetectorChoice(const char* name, const QString& words);
  QDoubleSpinBox* addNumber(const char* name, const QString& words, double low, double high, double value);
  QPushButton* addSave(const QString& filter, const FileWriter& write);
  void addToRow(QWidget* widget, const QString& words = {});
  [[nodiscard]] const analysis::DetectorSpec& chosen(const QComboBox* choice) const;
  /// A long answer below what is there already: selectable, scrolled, as high as `stretch` gives it.
  QLabel* addAnswer(const char* name, const QString& words = {}, int stretch = 1);
  void endRow();  ///< puts the button, the bar and the stop behind the choices

  DetectorData data_;
  BackgroundJob* job_;
  bool has_answer_ = false;

 private:
  std::vector<QComboBox*> choices_;
  QHBoxLayout* row_;
  QPushButton *begin_, *stop_, *save_ = nullptr;
  QProgressBar* progress_;
  QLabel* message_;
};

}  // namespace coldstroke::gui
