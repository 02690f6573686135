// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "analysis/result.hpp"
#include "daq/setup/setup.hpp"

namespace coldstroke::daq {

/// Why this gauge pressure cannot be the target of a trial's charge; nullopt: it can. It must lie in the charge window, below the
/// maximum, below what the weakest part bears, and at most 90 % of where the relief valve is set.
[[nodiscard]] std::optional<Complaint> target_trouble(double pascals, const Setup& setup);

}  // namespace coldstroke::daq
