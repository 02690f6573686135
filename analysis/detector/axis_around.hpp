// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>

#include "analysis/detector/operating_map.hpp"

namespace coldstroke::analysis {

/// Values of one parameter worth looking at: about `steps` of them, from a tenth of the present setting to three times it as far
/// as a board can hold them; for rest half a g to both sides, for whole numbers all of them. The present one is among them or
/// near.
[[nodiscard]] MapAxis axis_around(const DetectorSpec& spec, MapParameter parameter, std::size_t steps);

}  // namespace coldstroke::analysis
