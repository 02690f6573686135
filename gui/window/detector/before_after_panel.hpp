// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "gui/window/detector/before_after_drawing.hpp"
#include "gui/window/detector/detector_panel.hpp"

namespace coldstroke::gui {

class FigureView;

/// Two detectors on the same recordings: one sentence, the numbers under it, the worst cases with their traces.
class BeforeAfterPanel : public DetectorPanel {
  Q_OBJECT
 public:
  explicit BeforeAfterPanel(QWidget* parent = nullptr);

 protected:
  void begin() override;
  void fillDetectors() override;

 private:
  void showAnswer(Result<BeforeAfterFigure> answer);
  QComboBox *before_, *after_;
  QDoubleSpinBox* margin_;
  QLabel *sentence_, *numbers_;
  FigureView* view_;
  std::shared_ptr<const BeforeAfterFigure> figure_;
};

}  // namespace coldstroke::gui
