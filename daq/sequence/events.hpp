// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "daq/sequence/interlocks.hpp"

namespace coldstroke::daq {

/// The vent valve takes its time, the reading is a mean, the line has a delay: this much comes on top of the blowdown.
inline constexpr double kVentAllowanceSeconds = 0.3;
/// Slower than this many times the isothermal blowdown is not a healthy vent (safety reference, hazard 6).
inline constexpr double kVentSlowFactor = 1.5;

/// Whether a vent-down that stands at `gauge_pascals` now is slower than 1.5 times the isothermal blowdown of the reservoir
/// through the setup's vent, plus the allowance. Never a bare timer: it scales with volume, vent and starting pressure.
[[nodiscard]] bool vent_is_slow(const VentDown& vent_down, double gauge_pascals, const Setup& setup);

/// The event that the readings call for in `step`, the most urgent one; nullopt: nothing happens. A person's requests are no part
/// of it.
[[nodiscard]] std::optional<SequenceEvent> event_in(Step step, const Readings& readings, const Setup& setup);

}  // namespace coldstroke::daq
