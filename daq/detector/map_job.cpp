// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/map_job.hpp"

#include <vector>

#include "daq/detector/spread_work.hpp"

namespace coldstroke::daq {

std::optional<analysis::OperatingMap> compute_map(const analysis::OperatingMapPlan& plan, unsigned threads,
                                                  const std::function<void(std::size_t)>& progress,
                                                  const std::function<bool()>& cancelled) {
  std::vector<std::vector<analysis::MapCell>> rows(plan.rows.values.size());
  const bool whole = spread_work(
      rows.size(), threads,
      [&](std::size_t row, const std::function<bool()>& stopped) {
        auto cells = map_row(plan, row, stopped);
        if (cells) rows[row] = std::move(*cells);
        return cells.has_value();
      },
      progress, cancelled);
  if (!whole) return std::nullopt;
  analysis::OperatingMap map{plan.rows, plan.columns, {}};
  for (auto& row : rows) map.cells.insert(map.cells.end(), row.begin(), row.end());
  return map;
}

}  // namespace coldstroke::daq
