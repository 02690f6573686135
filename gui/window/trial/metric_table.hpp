// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QTableWidget>
#include <vector>

#include "gui/report/metric_rows.hpp"

namespace coldstroke::gui {

/// Metric, value with its uncertainty, limit, a small bar that shows where the value lies between its limits, verdict.
class MetricTable : public QTableWidget {
  Q_OBJECT
 public:
  enum Column { kMetric, kValue, kLimit, kMargin, kVerdict, kColumns };
  explicit MetricTable(QWidget* parent = nullptr);
  void show(std::vector<MetricRow> rows);
  [[nodiscard]] const std::vector<MetricRow>& rows() const { return rows_; }

 private:
  std::vector<MetricRow> rows_;
};

}  // namespace coldstroke::gui
