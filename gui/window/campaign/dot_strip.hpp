// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QString>
#include <QWidget>
#include <optional>
#include <string>
#include <vector>

#include "gui/report/report_trial.hpp"
#include "gui/window/plot/plot_frame.hpp"

namespace coldstroke::gui {

/// One shape a trial in order of number for one metric: filled circle passed, cross failed, open square void, dash not
/// judged. Trials that lack the metric stand on the bottom line; a value far off stands on the edge with its number. Limits are
/// lines with their number.
class DotStrip : public QWidget {
  Q_OBJECT
 public:
  struct Dot {
    qlonglong number;
    std::string verdict;
    std::optional<double> value, low, high;  ///< shown unit; low..high: 95 % interval
  };
  explicit DotStrip(QWidget* parent = nullptr);
  /// `metric`: one of kMetricNames. Limits are those of the newest judged trial's criteria.
  void show(const std::vector<ReportTrial>& trials, const std::string& metric);
  void choose(qlonglong number);  ///< marks one trial
  [[nodiscard]] const std::vector<Dot>& dots() const { return dots_; }
  [[nodiscard]] QPointF place(const Dot& dot) const;
  [[nodiscard]] QSize minimumSizeHint() const override { return {320, 150}; }

 Q_SIGNALS:
  void chosen(qlonglong number);
  void opened(qlonglong number);

 protected:
  void paintEvent(QPaintEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseDoubleClickEvent(QMouseEvent* event) override;
  bool event(QEvent* event) override;

 private:
  [[nodiscard]] QRectF area() const;
  [[nodiscard]] double y(double value) const;
  [[nodiscard]] AxisRange trialAxis() const;
  [[nodiscard]] const Dot* nearest(const QPointF& at) const;
  void fitRange();
  void paintLimits(QPainter& painter, const Look& look) const;
  void paintDot(QPainter& painter, const Dot& dot, const Look& look) const;
  std::vector<Dot> dots_;
  std::optional<double> lower_, upper_;
  QString title_, unit_;
  AxisRange range_;
  std::optional<qlonglong> chosen_;
  PlotFrame frame_;
};

}  // namespace coldstroke::gui
