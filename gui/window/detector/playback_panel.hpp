// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "daq/playback/playback_report.hpp"
#include "gui/window/detector/detector_panel.hpp"

namespace coldstroke::gui {

/// Plays the library to the flight board's own detector. Marked "PLAYBACK, no trial" whatever it shows. The board itself refuses
/// unless its firing channels are open or on their dummy loads; while it plays, no interlock list lets gas move.
class PlaybackPanel : public DetectorPanel {
  Q_OBJECT
 public:
  /// `virtual_rig`: how to start a virtual board.
  explicit PlaybackPanel(daq::VirtualRigProgram virtual_rig = {}, QWidget* parent = nullptr);

 protected:
  void begin() override;
  void fillDetectors() override;
  /// Without a detector table the board is held to what it says of itself.
  [[nodiscard]] QString wanting() const override { return data_.library->empty() ? tr("Open a library first") : QString{}; }

 private:
  struct Answer {
    daq::PlaybackRun run;
    daq::PlaybackReport report;
  };
  void showAnswer(Result<Answer> answer);
  QComboBox *board_, *detector_;
  QLabel* answer_;
  daq::VirtualRigProgram virtual_rig_;
  std::shared_ptr<const Answer> made_;
};

}  // namespace coldstroke::gui
