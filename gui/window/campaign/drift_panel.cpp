// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/drift_panel.hpp"

#include <QLabel>
#include <QScrollArea>
#include <QVBoxLayout>
#include <algorithm>

#include "gui/report/metric_figure.hpp"
#include "gui/window/campaign/drift_view.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

DriftPanel::DriftPanel(QWidget* parent) : QWidget{parent} {
  setObjectName("drift_panel");
  view_ = new DriftView;
  words_ = wrapped_label("drift_words");
  words_->setMargin(6);
  words_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  auto* scroll = new QScrollArea;
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setWidgetResizable(true);
  scroll->setWidget(words_);
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(0, 0, 0, 0);
  column->addWidget(view_, 3);
  column->addWidget(scroll, 2);
  show(nullptr, {});
}

void DriftPanel::show(const WeighedCampaign* weighed, const std::string& metric) {
  const analysis::MetricEvidence* found = nullptr;
  QStringList watched;
  if (weighed != nullptr) {
    for (const analysis::MetricEvidence& one : weighed->evidence.metrics) {
      if (one.asked.metric == metric) found = &one;
      watched << text(one.asked.limit.quantity);
    }
  }
  const bool drawn = found != nullptr && !found->values.empty();
  view_->setVisible(drawn);
  if (drawn) {
    view_->show(drift_figure(*found, weighed->trials));
    words_->setText(text_lines(drift_sentences(*found)));
  } else {
    words_->setText(weighed == nullptr ? tr("The campaign is not weighed yet.")
                    : found == nullptr
                        ? tr("Limits and drift are watched for %1. Choose one of them above.").arg(watched.join(", "))
                        : tr("No counted trial has a value of this metric."));
  }
}

}  // namespace coldstroke::gui
