// SPDX-License-Identifier: GPL-3.0-or-later
//
// Axes, grid and tick labels of a stack of plots, drawn by Qt Charts once into a picture. Traces are painted over it, which
// costs a quarter of letting the chart draw them (measured: docs/decisions.md says what and how).
#pragma once

#include <QPixmap>
#include <QRectF>
#include <QString>
#include <memory>
#include <vector>

#include "gui/report/trace_columns.hpp"
#include "gui/window/look.hpp"

class QChart;
class QGraphicsScene;
class QValueAxis;

namespace coldstroke::gui {

/// One plot of the stack: its axis and the area inside its axes, in pixels of the widget.
struct FrameRow {
  AxisRange range;
  QRectF area;
  bool operator==(const FrameRow&) const = default;
};

class ChartFrame {
 public:
  ChartFrame();
  ~ChartFrame();
  /// The picture for these rows with one shared time axis, labelled under the last row. Kept until something changes.
  const QPixmap& picture(const QSize& size, double pixel_ratio, const std::vector<FrameRow>& rows, const AxisRange& time,
                         const Look& look);
  /// How often it had to be drawn anew, for tests of "nothing is redrawn for nothing".
  [[nodiscard]] int drawings() const { return drawings_; }

 private:
  void draw_row(QPainter& painter, const FrameRow& row, const AxisRange& time, bool last, const Look& look);
  std::unique_ptr<QGraphicsScene> scene_;
  QChart* chart_;
  QValueAxis* x_;
  QValueAxis* y_;
  QPixmap picture_;
  QSize size_;
  double pixel_ratio_ = 0.0;
  std::vector<FrameRow> rows_;
  AxisRange time_;
  const Look* look_ = nullptr;
  int drawings_ = 0;
};

/// Room left of and below every stack of plots, for tick labels.
inline constexpr double kPlotLeft = 66.0, kPlotRight = 12.0, kPlotBottom = 24.0;
/// Between two plots: room for the title line of the lower one.
inline constexpr double kPlotGap = 22.0;

}  // namespace coldstroke::gui
