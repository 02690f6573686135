// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <functional>
#include <optional>

#include "analysis/detector/tolerance.hpp"

namespace coldstroke::daq {

/// The same answer as analysis::tolerances, on `threads` threads (0: one a core). A few looks at every recording come first: what
/// fails early says how far the others need not be tried. `progress` is called with the pieces of work done of how many, from any
/// thread, one at a time; `cancelled` is asked often, from all of them; true gives nullopt.
[[nodiscard]] std::optional<analysis::Tolerances> compute_tolerances(
    const analysis::ToleranceSearch& search, unsigned threads = 0,
    const std::function<void(std::size_t done, std::size_t of)>& progress = {}, const std::function<bool()>& cancelled = {});

}  // namespace coldstroke::daq
