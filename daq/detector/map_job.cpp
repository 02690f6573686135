// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/map_job.hpp"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <thread>
#include <vector>

namespace coldstroke::daq {

std::optional<analysis::OperatingMap> compute_map(const analysis::OperatingMapPlan& plan, unsigned threads,
                                                  const std::function<void(std::size_t)>& progress,
                                                  const std::function<bool()>& cancelled) {
  const std::size_t row_count = plan.rows.values.size();
  std::vector<std::vector<analysis::MapCell>> rows(row_count);
  std::atomic<std::size_t> next{0};
  std::atomic<bool> stopped{false};
  std::mutex telling;
  std::size_t done = 0;
  const auto work = [&] {
    for (std::size_t row = next++; row < row_count && !stopped; row = next++) {
      auto cells = map_row(plan, row, [&] { return stopped || (cancelled && cancelled()); });
      if (!cells) {
        stopped = true;
        return;
      }
      rows[row] = std::move(*cells);
      const std::lock_guard lock{telling};
      ++done;
      if (progress) progress(done);
    }
  };
  {
    std::vector<std::jthread> others;
    const unsigned wanted = threads != 0 ? threads : std::max(1U, std::thread::hardware_concurrency());
    for (unsigned i = 1; i < std::min<std::size_t>(wanted, row_count); ++i) others.emplace_back(work);
    work();
  }
  if (stopped) return std::nullopt;
  analysis::OperatingMap map{plan.rows, plan.columns, {}};
  for (auto& row : rows) map.cells.insert(map.cells.end(), row.begin(), row.end());
  return map;
}

}  // namespace coldstroke::daq
