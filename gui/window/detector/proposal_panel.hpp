// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "analysis/detector/recommendation.hpp"
#include "gui/window/detector/detector_panel.hpp"

namespace coldstroke::gui {

/// Window, threshold and deadline with the largest smallest margin, and what evidence is missing. It proposes; a person decides.
class ProposalPanel : public DetectorPanel {
  Q_OBJECT
 public:
  explicit ProposalPanel(QWidget* parent = nullptr);

 protected:
  void begin() override;

 private:
  using Answer = Result<std::optional<analysis::Recommendation>>;
  void showAnswer(Answer answer, bool stopped);
  QComboBox* detector_;
  QDoubleSpinBox *igniter_delay_, *thrust_by_;
  QLabel* answer_;
  std::optional<analysis::Recommendation> made_;
};

}  // namespace coldstroke::gui
