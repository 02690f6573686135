// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <functional>

namespace coldstroke::daq {

/// Does pieces 0 to `count` - 1 of a calculation on `threads` threads (0: one a core), in that order as threads come free.
/// `piece(index, stopped)` returns false to stop all; it asks `stopped` often. `progress` is called with the pieces done, from
/// any thread, one at a time. Returns whether all were done.
[[nodiscard]] bool spread_work(std::size_t count, unsigned threads,
                               const std::function<bool(std::size_t, const std::function<bool()>& stopped)>& piece,
                               const std::function<void(std::size_t done)>& progress, const std::function<bool()>& cancelled);

}  // namespace coldstroke::daq
