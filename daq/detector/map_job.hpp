// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <functional>
#include <optional>

#include "analysis/detector/operating_map.hpp"

namespace coldstroke::daq {

/// All rows of a plan on `threads` threads (0: one a core). `progress` is called with the rows done, from any of them, one at a
/// time; `cancelled` is asked often, from all of them; true gives nullopt.
[[nodiscard]] std::optional<analysis::OperatingMap> compute_map(const analysis::OperatingMapPlan& plan, unsigned threads = 0,
                                                                const std::function<void(std::size_t rows_done)>& progress = {},
                                                                const std::function<bool()>& cancelled = {});

}  // namespace coldstroke::daq
