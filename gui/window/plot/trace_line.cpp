// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/plot/trace_line.hpp"

#include <algorithm>

namespace coldstroke::gui {

void ColumnLines::clear() {
  lines_.clear();
  joined_ = false;
}

void ColumnLines::add(double x, double y_low, double y_high) {
  const double upper = std::min(y_low, y_high), lower = std::max(y_low, y_high);
  double from = upper, to = lower;
  if (joined_) {
    from = std::min(from, lower_);
    to = std::max(to, upper_);
  }
  // A line of no length leaves no pixel with every pen: give it one.
  if (to - from < 1.0) to = from + 1.0;
  lines_.emplace_back(x, from, x, to);
  joined_ = true;
  upper_ = upper;
  lower_ = lower;
}

}  // namespace coldstroke::gui
