// SPDX-License-Identifier: GPL-3.0-or-later
//
// Would thrust begin while the vehicle still climbs, high and fast enough? From the coast after the tube and the chain of delays
// from the detector's decision to thrust. The late edge is what the flight board must inhibit itself by; this file only computes
// it. Seconds are counted from separation unless said otherwise; a decision inside the tube is negative.
#pragma once

#include <optional>

#include "analysis/flight/coast.hpp"
#include "analysis/flight/flight_setup.hpp"

namespace coldstroke::analysis {

/// P(logic + igniter + build-up <= `seconds`): the two gamma delays convolved (adaptive Gauss-Kronrod).
[[nodiscard]] double thrust_probability_by(const IgnitionWindowSetup& chain, double seconds_after_decision);
/// Seconds after the decision by which thrust has begun with probability `p` (0 < p < 1).
[[nodiscard]] double thrust_seconds_at(const IgnitionWindowSetup& chain, double p);
[[nodiscard]] double mean_thrust_seconds(const IgnitionWindowSetup& chain);

/// When thrust may begin: from reaching the least height to falling below the least speed, both rising.
struct IgnitionWindow {
  double opens_seconds = 0.0, closes_seconds = 0.0;
};
/// Nothing if the vehicle never is high and fast enough at once.
[[nodiscard]] std::optional<IgnitionWindow> ignition_window(const VerticalPart& climb, const IgnitionWindowSetup& setup);

/// Probability that thrust begins inside the window after a decision at this time.
[[nodiscard]] double probability_in_window(const IgnitionWindow& window, const IgnitionWindowSetup& chain,
                                           double decision_seconds);
/// The last decision after which thrust begins before the window closes with the wanted probability: the board's own deadline.
/// A coast that never opens a window has none. May be negative: even a decision at separation would be too late.
[[nodiscard]] double latest_safe_decision_seconds(const IgnitionWindow& window, const IgnitionWindowSetup& chain);

}  // namespace coldstroke::analysis
