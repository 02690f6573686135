// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>

namespace coldstroke::analysis {

/// Half-open run of sample indices, [first, last).
struct IndexRun {
  std::size_t first = 0, last = 0;
  bool operator==(const IndexRun&) const = default;
};

}  // namespace coldstroke::analysis
