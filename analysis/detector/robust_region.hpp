// SPDX-License-Identifier: GPL-3.0-or-later
//
// Where on an operating map to stand: the region in which every recording comes out right, its core, and how far the edges are.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "analysis/detector/operating_map.hpp"

namespace coldstroke::analysis {

struct MapPlace {
  std::size_t row = 0, column = 0;
  bool operator==(const MapPlace&) const = default;
};

/// From one cell along an axis to the last cell that is still always in time, in the axis' own unit.
struct EdgeDistance {
  double last_good = 0.0;           ///< value of that cell
  std::optional<double> first_bad;  ///< value of the next one; absent: the map ends first, the edge is not known
  bool operator==(const EdgeDistance&) const = default;
};
struct EdgeDistances {
  EdgeDistance row_down, row_up, column_down, column_up;
  bool operator==(const EdgeDistances&) const = default;
};

struct RobustRegion {
  std::vector<MapPlace> cells;  ///< connected by sides, row by row
  MapPlace core;                ///< of it, the cell furthest from any cell that is not; see find_robust_region
  EdgeDistances edges;          ///< from the core
};

/// Edges as seen from a cell that is always in time; nullopt from any other, or from outside the map.
[[nodiscard]] std::optional<EdgeDistances> edge_distances(const OperatingMap& map, MapPlace from);

/// The side-connected region of always_in_time cells that holds the core: the cell with the most steps (to the sides and
/// diagonally) to the nearest cell that is not, the map's own border counting as such a cell; among equals the largest level
/// margin, then the first in row order. nullopt: no such cell.
[[nodiscard]] std::optional<RobustRegion> find_robust_region(const OperatingMap& map);

}  // namespace coldstroke::analysis
