// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "daq/record/recalibration.hpp"
#include "daq/setup/calibration_file.hpp"
#include "gui/window/calibration/capture.hpp"

class QCheckBox;
class QComboBox;
class QDoubleSpinBox;
class QLabel;
class QLineEdit;
class QPushButton;

namespace coldstroke::gui {

class Chart;
class PointTable;

/// Can I believe the numbers? Points by hand or captured live, the curve through them with its band and residuals, what else a
/// calibration says, and the records of before. Saving appends; nothing is edited.
class CalibrationPage : public QWidget {
  Q_OBJECT
 public:
  using Histories = std::function<std::shared_ptr<const daq::History>(std::size_t channel)>;
  explicit CalibrationPage(QWidget* parent = nullptr);
  /// The setup whose channels are calibrated, and where their samples come from.
  void setSetup(const daq::Setup& setup, Histories histories);
  /// The rig is left: nothing is live any more; setup and points stay, so that what was typed can still be kept or judged with.
  void leaveRig();
  [[nodiscard]] const std::optional<daq::Setup>& setup() const { return setup_; }
  void follow();                   ///< at each new view of the bench: the live reading, and an average that is being taken
  void say(const QString& words);  ///< one sentence under the page
  void complain(const Complaint& complaint);

 Q_SIGNALS:
  void saveWanted(const coldstroke::daq::CalibrationRecord& record);
  void rejudgeWanted(const coldstroke::daq::Recalibration& correction);

 protected:
  void changeEvent(QEvent* event) override;

 private:
  QWidget* makeCapture();
  QWidget* makePapers();
  void connectAll();
  void chooseChannel();
  void startCapture();
  void finishCapture();
  void addByHand();
  void takeTare();
  void fit();
  void enableWhatWorks();
  void showInverse(double counts, double standard_uncertainty);
  void save();
  [[nodiscard]] daq::CalibrationRecord withPapers() const;
  void rejudge();
  [[nodiscard]] const daq::ChannelSetup* channel() const;
  [[nodiscard]] std::shared_ptr<const daq::History> history() const;

  std::optional<daq::Setup> setup_;
  Histories histories_;
  std::optional<daq::CalibrationRecord> fitted_;
  std::optional<double> capture_from_seconds_;
  std::optional<analysis::Tare> tare_;
  QComboBox *channel_, *model_;
  QLabel *live_, *inverse_, *said_, *numbers_, *history_;
  QDoubleSpinBox *seconds_, *applied_, *counts_, *uncertainty_, *shunt_expected_, *shunt_seen_;
  QCheckBox* unloading_;
  QPushButton *capture_, *by_hand_, *remove_, *tare_button_, *save_, *rejudge_;
  QLineEdit *who_, *reference_, *valid_until_, *reason_;
  PointTable* points_;
  Chart *curve_chart_, *residual_chart_;
};

}  // namespace coldstroke::gui
