// SPDX-License-Identifier: GPL-3.0-or-later
//
// Axes, grid and tick labels of a stack of plots, drawn once into a picture over which the traces are painted, since redrawing
// them with every frame would cost more than the traces.
//
// Own painting, not a Qt Charts chart rendered into the picture: of Qt Charts 6.4 the first chart drawn after a resize ignored
// the plot area it had been given, so its grid stood 34 pixels beside the trace. A grid that lies is worse than none.
#pragma once

#include <QPixmap>
#include <QRectF>
#include <vector>

#include "gui/report/trace_columns.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

/// One plot of the stack: its value axis and the area inside its axes, in pixels of the widget.
struct FrameRow {
  AxisRange range;
  QRectF area;
  /// Where a value stands.
  [[nodiscard]] double y(double shown) const {
    return area.bottom() - area.height() * (shown - range.low) / (range.high - range.low);
  }
  bool operator==(const FrameRow&) const = default;
};

class PlotFrame {
 public:
  /// The picture for these rows with one shared time axis, labelled under the last row. Kept until something changes.
  const QPixmap& picture(const QSize& size, double pixel_ratio, const std::vector<FrameRow>& rows, const AxisRange& time,
                         const Look& look);
  /// How often it had to be drawn anew, for tests of "nothing is redrawn for nothing".
  [[nodiscard]] int drawings() const { return drawings_; }

 private:
  QPixmap picture_;
  QSize size_;
  double pixel_ratio_ = 0.0;
  std::vector<FrameRow> rows_;
  AxisRange time_;
  const Look* look_ = nullptr;
  int drawings_ = 0;
};

/// Room left of, right of and below every stack of plots, for tick labels.
inline constexpr double kPlotLeft = 66.0, kPlotRight = 14.0, kPlotBottom = 24.0;
/// Between two plots: room for the title line of the lower one.
inline constexpr double kPlotGap = 22.0;

}  // namespace coldstroke::gui
