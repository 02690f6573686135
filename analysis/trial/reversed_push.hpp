// SPDX-License-Identifier: GPL-3.0-or-later
//
// A stroke seen through a scale of the wrong sign.
#pragma once

#include <cstddef>
#include <span>

namespace coldstroke::analysis {

/// Whether the deepest of the first `before` values is a push that reads downwards: at least `least_depth` under zero, and within
/// `longest` values from half its depth back to half its depth. A record that begins in the stroke stays down, and is none.
/// `net`: readings less the reading at rest; may be empty.
[[nodiscard]] bool pushes_downwards(std::span<const double> net, std::size_t before, double least_depth, std::size_t longest);

}  // namespace coldstroke::analysis
