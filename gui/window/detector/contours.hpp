// SPDX-License-Identifier: GPL-3.0-or-later
//
// Lines of equal value over the cells of a map that are always in time.
#pragma once

#include <QLineF>
#include <functional>
#include <optional>
#include <vector>

#include "analysis/detector/operating_map.hpp"

namespace coldstroke::gui {

struct Contour {
  double level = 0.0;
  std::vector<QLineF> segments;  ///< x in columns, y in rows; whole numbers are the middles of cells
};

/// A value of a cell; absent where there is none.
using CellValue = std::function<std::optional<double>(const analysis::MapCell&)>;

/// At round levels (1, 2 or 5 times a power of ten apart), five at most, by straight lines between four neighbouring cells that
/// are all always in time and have the value. None where all values are equal.
[[nodiscard]] std::vector<Contour> contours_of(const analysis::OperatingMap& map, const CellValue& value);

}  // namespace coldstroke::gui
