// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/metric_choice.hpp"

#include "analysis/trial/metric.hpp"
#include "gui/report/figures.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

MetricChoice::MetricChoice(const char* name, QWidget* parent) : QComboBox{parent} {
  setObjectName(name);
  for (const std::string_view metric : analysis::kMetricNames) {
    const MetricWords* words = metric_words(metric);
    addItem(words == nullptr ? text(metric) : text(words->title), text(metric));
  }
  setCurrentIndex(findData("detector_latency_seconds"));
}

}  // namespace coldstroke::gui
