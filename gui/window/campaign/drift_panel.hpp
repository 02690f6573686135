// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "gui/report/evidence_words.hpp"

class QLabel;

namespace coldstroke::gui {

class DriftView;

/// Limits, chart and what the tests say of one metric over the counted trials.
class DriftPanel : public QWidget {
  Q_OBJECT
 public:
  explicit DriftPanel(QWidget* parent = nullptr);
  /// nullptr: nothing is weighed yet.
  void show(const WeighedCampaign* weighed, const std::string& metric);

 private:
  DriftView* view_;
  QLabel* words_;
};

}  // namespace coldstroke::gui
