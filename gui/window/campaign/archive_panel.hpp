// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "analysis/evidence/flight_handover.hpp"
#include "daq/record/trial_export.hpp"
#include "gui/window/file_request.hpp"
#include "gui/window/job_panel.hpp"

class QComboBox;
class QGridLayout;
class QLineEdit;

namespace coldstroke::gui {

/// What is signed and kept: verdict sheet, exports, integrity. Long work runs beside the window and can be stopped.
class ArchivePanel : public JobPanel {
  Q_OBJECT
 public:
  explicit ArchivePanel(QWidget* parent = nullptr);
  void setCampaign(const std::filesystem::path& campaign);
  /// Where the sheet gets what is intended for flight from.
  void setIntended(std::function<std::vector<analysis::HandoverItem>()> intended) { intended_ = std::move(intended); }
  void writeSheet(const std::filesystem::path& file);
  void writeHdf5(const std::filesystem::path& file);
  void writeTables(const std::filesystem::path& folder);

 Q_SIGNALS:
  void fileRequested(const coldstroke::gui::FileRequest& request);

 protected:
  void begin() override;  ///< the integrity check
  [[nodiscard]] QString wanting() const override;
  void followJob() override;

 private:
  using Lines = std::vector<std::string>;
  using Exporter = decltype(&daq::export_hdf5);
  void writeOut(Exporter exporter, const std::filesystem::path& to);
  /// A button that asks for a file, and what comes of it.
  void addAction(QGridLayout* grid, const char* name, const QString& meaning, const FileRequest& request);
  /// Runs `work` beside the window; its lines become the answer.
  void start(const QString& doing, std::function<Result<Lines>(const daq::Progress&)> work);
  std::filesystem::path campaign_;
  std::function<std::vector<analysis::HandoverItem>()> intended_;
  QLineEdit* head_;
  QComboBox* paper_;
  std::vector<QPushButton*> buttons_;
  QLabel* answer_;
};

}  // namespace coldstroke::gui
