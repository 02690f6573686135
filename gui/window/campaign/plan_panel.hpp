// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <memory>

#include "gui/report/evidence_words.hpp"

class QDoubleSpinBox;
class QLabel;
class QSpinBox;

namespace coldstroke::gui {

class TableGrid;

/// How many trials a goal needs, how often a good detector passes such a plan, and what more passes would show.
class PlanPanel : public QWidget {
  Q_OBJECT
 public:
  explicit PlanPanel(QWidget* parent = nullptr);
  /// nullptr: nothing is weighed yet.
  void setEvidence(const WeighedCampaign* weighed);

 private:
  void showPlans();
  QDoubleSpinBox *reliability_, *confidence_, *truth_;
  QSpinBox* failures_;
  QLabel *message_, *outlook_heading_;
  TableGrid *plans_, *outlook_;
};

}  // namespace coldstroke::gui
