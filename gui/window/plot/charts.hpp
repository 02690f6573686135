// SPDX-License-Identifier: GPL-3.0-or-later
//
// Qt Charts in the window's own look.
#pragma once

#include <QChart>
#include <QChartView>
#include <vector>

#include "analysis/pneumatics/charge_plan.hpp"
#include "analysis/trial/metric.hpp"
#include "daq/setup/setup.hpp"
#include "gui/report/climb_view.hpp"

namespace coldstroke::gui {

/// A chart that follows the light or dark look. Each function below fills one anew.
class Chart : public QChartView {
  Q_OBJECT
 public:
  explicit Chart(const QString& object_name, QWidget* parent = nullptr);
  /// Height over time with the window shaded, thrust's 95 % as a bar and its expected instant as a rule.
  void showClimb(const ClimbView& view);
  /// One dot a trial, measured against fitted, with the line of equality.
  void showPredicted(const analysis::ChargePlan& plan, analysis::PlanQuantity quantity, const QString& unit, double per_unit);
  /// Residual a trial in per cent, all quantities.
  void showResiduals(const analysis::ChargePlan& plan);
  /// A metric's budget: share of each input, largest on top.
  void showBudget(const QString& title, const analysis::Measured& measured, const QString& unit, double per_unit);
  /// Calibration points, the curve through them and its 95 % band; loads as `si * per_si` in `unit`.
  void showCalibration(const daq::CalibrationRecord& record, const QString& unit, double per_si);
  /// What the points leave over, brought to the load, loading and unloading apart.
  void showCalibrationResiduals(const daq::CalibrationRecord& record, const QString& unit, double per_si);
  void showNothing(const QString& why);

 protected:
  void resizeEvent(QResizeEvent* event) override;

 private:
  [[nodiscard]] double ticks(Qt::Orientation along) const;  ///< about how many find room
  void begin(const QString& title);
  void addAxes(const QString& x, const QString& y, double low_x, double high_x, double low_y, double high_y);
};

}  // namespace coldstroke::gui
