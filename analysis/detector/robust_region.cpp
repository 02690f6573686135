// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/robust_region.hpp"

#include <algorithm>
#include <limits>

namespace coldstroke::analysis {
namespace {

bool good(const OperatingMap& map, std::size_t row, std::size_t column) {
  return map.at(row, column).outcome == CellOutcome::always_in_time;
}

/// Walks from `at` up or down the axis while cells are good.
template <class Good>
EdgeDistance walk(const std::vector<double>& values, std::size_t at, bool up, Good is_good) {
  std::size_t here = at;
  while (true) {
    if (up ? here + 1 >= values.size() : here == 0) return {values[here], std::nullopt};
    const std::size_t next = up ? here + 1 : here - 1;
    if (!is_good(next)) return {values[here], values[next]};
    here = next;
  }
}

/// Chessboard steps to the nearest bad cell or the border, by two raster passes (exact for this distance).
std::vector<std::size_t> steps_to_edge(const OperatingMap& map) {
  const std::size_t rows = map.rows.values.size(), columns = map.columns.values.size();
  // One ring of bad cells around the map.
  const std::size_t width = columns + 2;
  std::vector<std::size_t> steps((rows + 2) * width, 0);
  const auto at = [&](std::size_t r, std::size_t c) -> std::size_t& { return steps[r * width + c]; };
  for (std::size_t r = 1; r <= rows; ++r)
    for (std::size_t c = 1; c <= columns; ++c)
      if (good(map, r - 1, c - 1)) at(r, c) = std::min({at(r - 1, c - 1), at(r - 1, c), at(r - 1, c + 1), at(r, c - 1)}) + 1;
  for (std::size_t r = rows; r >= 1; --r)
    for (std::size_t c = columns; c >= 1; --c)
      if (good(map, r - 1, c - 1))
        at(r, c) = std::min(at(r, c), std::min({at(r + 1, c - 1), at(r + 1, c), at(r + 1, c + 1), at(r, c + 1)}) + 1);
  std::vector<std::size_t> out;
  for (std::size_t r = 1; r <= rows; ++r)
    for (std::size_t c = 1; c <= columns; ++c) out.push_back(at(r, c));
  return out;
}

std::vector<MapPlace> connected(const OperatingMap& map, MapPlace from) {
  const std::size_t rows = map.rows.values.size(), columns = map.columns.values.size();
  std::vector<bool> seen(rows * columns, false);
  std::vector<MapPlace> open{from}, out;
  seen[from.row * columns + from.column] = true;
  const auto visit = [&](std::size_t r, std::size_t c) {
    if (r >= rows || c >= columns || seen[r * columns + c] || !good(map, r, c)) return;
    seen[r * columns + c] = true;
    open.push_back({r, c});
  };
  while (!open.empty()) {
    const MapPlace p = open.back();
    open.pop_back();
    out.push_back(p);
    visit(p.row + 1, p.column);
    visit(p.row - 1, p.column);  // 0 - 1 wraps to beyond the map
    visit(p.row, p.column + 1);
    visit(p.row, p.column - 1);
  }
  std::sort(out.begin(), out.end(),
            [](const MapPlace& a, const MapPlace& b) { return a.row != b.row ? a.row < b.row : a.column < b.column; });
  return out;
}

}  // namespace

std::optional<EdgeDistances> edge_distances(const OperatingMap& map, MapPlace from) {
  if (from.row >= map.rows.values.size() || from.column >= map.columns.values.size() || !good(map, from.row, from.column))
    return std::nullopt;
  const auto along_rows = [&](std::size_t r) { return good(map, r, from.column); };
  const auto along_columns = [&](std::size_t c) { return good(map, from.row, c); };
  return EdgeDistances{walk(map.rows.values, from.row, false, along_rows), walk(map.rows.values, from.row, true, along_rows),
                       walk(map.columns.values, from.column, false, along_columns),
                       walk(map.columns.values, from.column, true, along_columns)};
}

std::optional<RobustRegion> find_robust_region(const OperatingMap& map) {
  const std::vector<std::size_t> steps = steps_to_edge(map);
  std::size_t best = 0;
  for (std::size_t i = 1; i < steps.size(); ++i)
    if (steps[i] > steps[best] || (steps[i] == steps[best] && map.cells[i].level_margin > map.cells[best].level_margin)) best = i;
  if (steps.empty() || steps[best] == 0) return std::nullopt;
  const MapPlace core{best / map.columns.values.size(), best % map.columns.values.size()};
  return RobustRegion{connected(map, core), core, *edge_distances(map, core)};
}

}  // namespace coldstroke::analysis
