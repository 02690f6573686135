// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QTableWidget>
#include <vector>

#include "analysis/calibration/calibration.hpp"

namespace coldstroke::gui {

/// Calibration points as rows: load, mean reading, its scatter, how many samples, way. Delete takes the chosen row out.
class PointTable : public QTableWidget {
  Q_OBJECT
 public:
  explicit PointTable(QWidget* parent = nullptr);
  void add(const analysis::CalibrationPoint& point);
  void removeChosen();
  void removeAll();
  /// Loads are shown as `si * per_si` in `unit`.
  void setUnit(const QString& unit, double per_si);
  [[nodiscard]] const std::vector<analysis::CalibrationPoint>& points() const { return points_; }

 Q_SIGNALS:
  void pointsChanged();

 protected:
  void keyPressEvent(QKeyEvent* event) override;

 private:
  void fill();
  std::vector<analysis::CalibrationPoint> points_;
  QString unit_;
  double per_si_ = 1.0;
};

}  // namespace coldstroke::gui
