// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "daq/virtual_rig/process.hpp"
#include "gui/window/detector/detector_panel.hpp"
#include "gui/window/file_request.hpp"

class QPushButton;
class QTabWidget;

namespace coldstroke::gui {

class MapPanel;
class MapView;

/// Would this detector have fired, every time, in time, and never otherwise: a library and a table of detectors, and what can be
/// asked of them. Files are read and everything is computed beside the window; what is shown is of the last files opened.
class DetectorPage : public QWidget {
  Q_OBJECT
 public:
  explicit DetectorPage(daq::VirtualRigProgram virtual_rig = {}, QWidget* parent = nullptr);

  void openLibrary(const std::filesystem::path& file);
  void openTable(const std::filesystem::path& file);
  void show(std::vector<analysis::Recording> library, const QString& name);
  void show(std::vector<analysis::DetectorSpec> detectors);
  void save(const std::filesystem::path& file, const FileWriter& write);
  /// Keeps the recordings shown in a campaign, for good; says on the page how it went.
  void keepIn(const std::filesystem::path& campaign);
  [[nodiscard]] MapView* map() const;

 Q_SIGNALS:
  void saveWanted(const QString& filter, const FileWriter& write);
  void fileRequested(const coldstroke::gui::FileRequest& request);
  void mapShown();

 private:
  QWidget* makeTop();
  void spread();
  [[nodiscard]] DetectorPanel* panel() const;

  DetectorData data_;
  BackgroundJob* reading_;
  QLabel* files_;
  QPushButton* keep_;
  QTabWidget* tabs_;
  MapPanel* map_panel_;
};

}  // namespace coldstroke::gui
