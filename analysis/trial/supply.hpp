// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the supply pressure says of a trial: charge, droop, recovery. Definitions: docs/methods.md.
#pragma once

#include "analysis/trial/evidence.hpp"
#include "analysis/trial/number.hpp"

namespace coldstroke::analysis {

/// A pressure transducer and its port follow late: 0 to 0.2 ms for good ones (common practice, no source). The middle, which is
/// taken off.
inline constexpr double kTransducerLagSeconds = 0.1e-3;

/// What comes before a release is read from so much of the record.
inline constexpr double kBeforeReleaseSeconds = 50.0e-3;

/// Up to here the gas stands still: the release command; without it, 20 ms before first motion, when a valve of ordinary dead
/// time has not opened yet. One of the two must be known.
[[nodiscard]] double quiet_until_seconds(const Evidence& evidence, std::optional<double> release_commanded_seconds);

/// The supply pressure before the release, Pa gauge: the samples' level, and the end of the 50 ms that it is the mean of.
struct SupplyBefore {
  Level level;
  double until_seconds = 0.0;
};
[[nodiscard]] Result<SupplyBefore, Absent> supply_before_release(const Evidence& evidence,
                                                                 std::optional<double> release_commanded_seconds);

/// Pa gauge.
[[nodiscard]] Made release_pressure_of(const Evidence& evidence, std::optional<double> release_commanded_seconds);
/// Pa.
[[nodiscard]] Made droop_of(const Evidence& evidence, std::optional<double> release_commanded_seconds);
/// Pa. The largest rise above the lowest until then, means over 50 ms: what heat from the wall and the feed give back. A vent
/// that empties the reservoir later takes nothing from it.
[[nodiscard]] Made recovery_of(const Evidence& evidence, std::optional<double> release_commanded_seconds);
/// Work on the vehicle, J, over the energy of the charge (p - p_a) V / (k - 1).
[[nodiscard]] Made efficiency_of(const Number& work_joules, const Evidence& evidence,
                                 std::optional<double> release_commanded_seconds, double reservoir_volume_m3);

}  // namespace coldstroke::analysis
