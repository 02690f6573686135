// SPDX-License-Identifier: GPL-3.0-or-later
//
// The edges in the pressures of a trial: how the gas came in through the valves, and how the supply fell. State levels and
// reference levels after IEEE Std 181-2011, on unfiltered samples. Definitions: docs/methods.md.
#pragma once

#include "analysis/trial/evidence.hpp"
#include "analysis/trial/number.hpp"

namespace coldstroke::analysis {

/// Duration of the supply pressure's fall, 10 to 90 %, s. States: the modes of the histogram over the 50 ms up to the release
/// and on to the lowest mean of 5 ms within 150 ms of separation.
[[nodiscard]] Made supply_fall_of(const Evidence& evidence, std::optional<double> release_commanded_seconds);

/// Duration of the chamber pressure's rise, 10 to 90 %, s. States: the level before the release, and the peak to separation,
/// because a chamber that grows has no upper state to stay in. Without a stroke: the peak in the 150 ms after the release, so
/// that a vehicle that sticks still shows what its valves did.
[[nodiscard]] Made chamber_rise_of(const Evidence& evidence, std::optional<double> release_commanded_seconds);

/// From the release command to the middle of that rise, s: coil, pilot and spool of the valves, as the gas shows them.
[[nodiscard]] Made valve_delay_of(const Evidence& evidence, std::optional<double> release_commanded_seconds);

}  // namespace coldstroke::analysis
