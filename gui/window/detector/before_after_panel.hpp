// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "gui/window/detector/before_after_drawing.hpp"
#include "gui/window/detector/detector_panel.hpp"
#include "gui/window/file_request.hpp"

namespace coldstroke::gui {

class FigureView;

/// Two detectors on the same recordings, replayed or as two boards answered them in playbacks: one sentence, the numbers under
/// it, the worst cases with their traces.
class BeforeAfterPanel : public DetectorPanel {
  Q_OBJECT
 public:
  explicit BeforeAfterPanel(QWidget* parent = nullptr);
  /// Answers of a board, saved by a playback, to choose among from now on.
  void openAnswers(const std::filesystem::path& file);

 Q_SIGNALS:
  void fileRequested(const coldstroke::gui::FileRequest& request);

 protected:
  [[nodiscard]] QString wanting() const override;
  void begin() override;
  void fillDetectors() override;

 private:
  void showAnswer(Result<BeforeAfterFigure> answer);
  /// What a choice stands for: a detector to be replayed, or a board's answers.
  [[nodiscard]] std::shared_ptr<const PlayedSide> chosenAnswers(const QComboBox* choice) const;
  QComboBox *before_, *after_;
  QDoubleSpinBox* margin_;
  QLabel *sentence_, *numbers_;
  FigureView* view_;
  std::shared_ptr<const BeforeAfterFigure> figure_;
  std::vector<std::shared_ptr<const PlayedSide>> played_;  ///< listed after the detectors
};

}  // namespace coldstroke::gui
