// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QThreadPool>
#include <QWidget>
#include <atomic>
#include <filesystem>
#include <memory>

#include "analysis/detector/detector_spec.hpp"
#include "analysis/detector/recording.hpp"
#include "analysis/result.hpp"
#include "gui/window/detector/map_drawing.hpp"

class QComboBox;
class QLabel;
class QProgressBar;
class QPushButton;

namespace coldstroke::gui {

class MapView;

/// Would this detector have fired, each time, in time: the operating map of a library, the present setting, the robust region.
///
/// Files are read and maps computed on threads of its own; whatever is shown is of the last files opened.
class DetectorPage : public QWidget {
  Q_OBJECT
 public:
  explicit DetectorPage(QWidget* parent = nullptr);
  ~DetectorPage() override;

  void openLibrary(const std::filesystem::path& file);
  void openTable(const std::filesystem::path& file);
  void show(std::vector<analysis::Recording> library, const QString& name);
  void show(std::vector<analysis::DetectorSpec> detectors);
  /// Of the detector chosen; nothing happens before there are a library and a detector.
  void computeMap();
  void cancel();
  [[nodiscard]] bool busy() const { return cancelled_ != nullptr; }
  [[nodiscard]] MapView* map() const { return map_; }

 Q_SIGNALS:
  void libraryWanted();
  void tableWanted();
  void mapShown();

 private:
  struct Answer;
  QWidget* makeTop();
  void showAnswer(Result<Answer> answer);
  void showCell(qulonglong row, qulonglong column);
  void complain(const Complaint& complaint);
  void follow();

  std::vector<analysis::Recording> library_;
  std::vector<analysis::DetectorSpec> detectors_;
  QString library_name_;
  std::shared_ptr<std::atomic<bool>> cancelled_;  ///< of the job in progress
  QThreadPool worker_;
  QLabel *files_, *answer_, *cell_, *message_;
  QComboBox* detector_;
  QPushButton *compute_, *cancel_;
  QProgressBar* progress_;
  MapView* map_;
};

}  // namespace coldstroke::gui
