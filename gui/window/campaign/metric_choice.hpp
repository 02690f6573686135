// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QComboBox>
#include <string>

namespace coldstroke::gui {

/// Every metric by its title, the detector's latency chosen. The data of an item is the metric's name.
class MetricChoice : public QComboBox {
  Q_OBJECT
 public:
  explicit MetricChoice(const char* name, QWidget* parent = nullptr);
  [[nodiscard]] std::string chosenMetric() const { return currentData().toString().toStdString(); }
};

}  // namespace coldstroke::gui
