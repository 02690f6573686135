// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QLineF>
#include <QPolygonF>
#include <vector>

#include "gui/report/trace_columns.hpp"

namespace coldstroke::gui {

/// Turns columns into one line a column, each reaching to its neighbour so that the trace hangs together. An empty column
/// breaks it. Kept between frames so that drawing allocates nothing.
class ColumnLines {
 public:
  void clear();
  /// The next column to the right; `y_low`, `y_high` in pixels of its smallest and largest value.
  void add(double x, double y_low, double y_high);
  void gap() { joined_ = false; }
  [[nodiscard]] const std::vector<QLineF>& lines() const { return lines_; }

 private:
  std::vector<QLineF> lines_;
  bool joined_ = false;
  double upper_ = 0.0, lower_ = 0.0;  // of the previous column, pixels
};

}  // namespace coldstroke::gui
