// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/robust_region.hpp"

#include <gtest/gtest.h>

#include <string>

namespace coldstroke::analysis {
namespace {

/// '#' always in time, '.' anything else; values 10, 20, ... down the rows and 1, 2, ... along the columns.
OperatingMap drawn(const std::vector<std::string>& picture) {
  OperatingMap map;
  map.rows.parameter = MapParameter::window_samples;
  for (std::size_t r = 0; r < picture.size(); ++r) {
    map.rows.values.push_back(10.0 * static_cast<double>(r + 1));
    for (const char c : picture[r]) {
      MapCell cell;
      cell.outcome = c == '#' ? CellOutcome::always_in_time : CellOutcome::sometimes;
      map.cells.push_back(cell);
    }
  }
  for (std::size_t c = 0; c < picture.front().size(); ++c) map.columns.values.push_back(static_cast<double>(c + 1));
  return map;
}

TEST(RobustRegion, TakesTheCellFurthestFromAnyEdge) {
  const auto map = drawn({"#......#",  //
                          "#.####..",  //
                          "#.#####.",  //
                          "#.####..",  //
                          "#.......",  //
                          "#######."});
  const auto region = find_robust_region(map);
  ASSERT_TRUE(region);
  EXPECT_EQ(region->core, (MapPlace{2, 3}));
  EXPECT_EQ(region->cells.size(), 13u) << "the column at the left is not connected";
  EXPECT_EQ(region->edges.row_down, (EdgeDistance{20.0, 10.0}));
  EXPECT_EQ(region->edges.row_up, (EdgeDistance{40.0, 50.0}));
  EXPECT_EQ(region->edges.column_down, (EdgeDistance{3.0, 2.0}));
  EXPECT_EQ(region->edges.column_up, (EdgeDistance{7.0, 8.0}));
}

TEST(RobustRegion, LevelMarginDecidesAmongEquals) {
  auto map = drawn({".....", ".#.#.", "....."});
  map.cells[1 * 5 + 3].level_margin = 0.5;
  EXPECT_EQ(find_robust_region(map)->core, (MapPlace{1, 3}));
}

TEST(RobustRegion, AMapThatEndsFirstLeavesTheEdgeUnknown) {
  const auto map = drawn({"##", "##"});
  const auto edges = edge_distances(map, {0, 0});
  ASSERT_TRUE(edges);
  EXPECT_EQ(edges->row_up, (EdgeDistance{20.0, std::nullopt}));
  EXPECT_EQ(edges->column_down, (EdgeDistance{1.0, std::nullopt}));
  EXPECT_FALSE(edge_distances(map, {2, 0}));
}

TEST(RobustRegion, IsAbsentWhereNoCellIsAlwaysInTime) {
  const auto map = drawn({"..", ".."});
  EXPECT_FALSE(find_robust_region(map));
  EXPECT_FALSE(edge_distances(map, {0, 0}));
}

}  // namespace
}  // namespace coldstroke::analysis
