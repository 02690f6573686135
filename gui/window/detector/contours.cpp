// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/contours.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace coldstroke::gui {
namespace {

constexpr double kMostLevels = 5.0;

using Grid = std::vector<std::optional<double>>;

Grid grid_of(const analysis::OperatingMap& map, const CellValue& value) {
  Grid out(map.cells.size());
  for (std::size_t i = 0; i < map.cells.size(); ++i)
    if (map.cells[i].outcome == analysis::CellOutcome::always_in_time) out[i] = value(map.cells[i]);
  return out;
}

std::vector<double> round_levels(const Grid& grid) {
  std::optional<double> low, high;
  for (const auto& value : grid) {
    if (!value) continue;
    low = std::min(low.value_or(*value), *value);
    high = std::max(high.value_or(*value), *value);
  }
  if (!low || *high <= *low) return {};
  const double least = (*high - *low) / kMostLevels, power = std::pow(10.0, std::floor(std::log10(least)));
  const double step = least <= power         ? power
                      : least <= 2.0 * power ? 2.0 * power
                      : least <= 5.0 * power ? 5.0 * power
                                             : 10.0 * power;
  std::vector<double> out;
  for (double k = std::ceil(*low / step); k * step < *high; k += 1.0)
    if (k * step > *low) out.push_back(k * step);
  return out;
}

/// Where the level crosses the sides of one square, taken around it: two crossings give a line, four give two.
void add_square(std::size_t row, std::size_t column, const std::array<double, 4>& corner, double level,
                std::vector<QLineF>& out) {
  const double x = static_cast<double>(column), y = static_cast<double>(row);
  const std::array<QPointF, 4> at{QPointF{x, y}, QPointF{x + 1.0, y}, QPointF{x + 1.0, y + 1.0}, QPointF{x, y + 1.0}};
  std::vector<QPointF> crossings;
  for (std::size_t i = 0; i < 4; ++i) {
    const std::size_t j = (i + 1) % 4;
    if ((corner[i] < level) == (corner[j] < level)) continue;
    crossings.push_back(at[i] + (at[j] - at[i]) * ((level - corner[i]) / (corner[j] - corner[i])));
  }
  for (std::size_t i = 0; i + 1 < crossings.size(); i += 2) out.emplace_back(crossings[i], crossings[i + 1]);
}

}  // namespace

std::vector<Contour> contours_of(const analysis::OperatingMap& map, const CellValue& value) {
  const Grid grid = grid_of(map, value);
  const std::size_t columns = map.columns.values.size();
  std::vector<Contour> out;
  for (const double level : round_levels(grid)) {
    Contour contour{level, {}};
    for (std::size_t row = 0; row + 1 < map.rows.values.size(); ++row) {
      for (std::size_t column = 0; column + 1 < columns; ++column) {
        const std::size_t i = row * columns + column;
        const std::array corners{grid[i], grid[i + 1], grid[i + columns + 1], grid[i + columns]};
        if (!std::ranges::all_of(corners, [](const auto& corner) { return corner.has_value(); })) continue;
        add_square(row, column, {*corners[0], *corners[1], *corners[2], *corners[3]}, level, contour.segments);
      }
    }
    if (!contour.segments.empty()) out.push_back(std::move(contour));
  }
  return out;
}

}  // namespace coldstroke::gui
