// SPDX-License-Identifier: GPL-3.0-or-later
//
// Would the igniter have fired? Judged from the current through a dummy load that sits in its place: nothing burns, and nothing
// here can make anything burn. Continuity is no proof of this: a burnt series resistor still shows a closed loop.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "analysis/flight/flight_setup.hpp"

namespace coldstroke::analysis {

enum class FiringOutcome { no_current, too_low, too_short, too_early, too_late, would_fire };
[[nodiscard]] const char* word(FiringOutcome outcome);  ///< "no_current" ...

/// The recorded current, evenly sampled, amperes; sample k at start + k * period on the record's time line.
struct FiringCurrent {
  std::span<const double> amperes;
  double start_seconds = 0.0, period_seconds = 0.0;
  double floor_amperes = 0.0;  ///< what noise and zero error can show; only above it is it a current
};

/// When the current may begin, on the record's time line; what is not known is not judged.
struct FiringLimits {
  std::optional<double> not_before_seconds, not_after_seconds;
  bool never_left = false;  ///< the vehicle did not move, or never left the tube: every current is too early
  bool no_window = false;   ///< no instant of this climb is safe for thrust: every current is too late
};

struct FiringReport {
  FiringOutcome outcome = FiringOutcome::no_current;
  std::string reason;  ///< one sentence with the numbers
  // Of the pulse that was judged; absent without current.
  std::optional<double> start_seconds;           ///< on the record's time line
  std::optional<double> end_seconds;             ///< of its last sample
  std::optional<double> amperes;                 ///< mean over the hold time (or the pulse) through the dummy load
  std::optional<double> hot_amperes;             ///< the same into the hot bridge
  std::optional<double> held_seconds;            ///< at or above margin times all-fire, gaps to 1 ms bridged
  std::optional<double> action_ampere2_seconds;  ///< integral of the squared current
  std::optional<double> bridge_seconds;          ///< start of current to firing of the bridge model, current over the margin
  std::optional<double> loop_ohms;               ///< supply voltage over current
  bool loop_too_high = false;                    ///< above what the setup states: yet a continuity check sees it closed
  std::string doubt;                             ///< why the record does not bear the outcome out; empty: it does
  bool reversed = false;                         ///< the channel shows it with the other sign; a bridge does not mind
  bool operator==(const FiringReport&) const = default;
};

/// The six outcomes, looked for in this order: no current, too low, too short, too early, too late, would fire. Of several pulses
/// the first that would fire the bridge counts, because it spends the igniter; if none would, the one of the largest action. A
/// pulse is a stretch in which the current can heat the bridge (half its threshold), with up to two samples above the floor at
/// either end, so that the small current of a continuity check is none; if there is no such stretch, one above the floor. Would
/// fire asks for all of: the current into the hot bridge at or above margin times all-fire for the hold time without a gap of
/// more than 1 ms, and the bridge model over its threshold with the current divided by the margin.
[[nodiscard]] FiringReport judge_firing(const FiringCurrent& current, const FiringSetup& setup, const FiringLimits& limits);

/// First-order thermal bridge y' = (I^2 - y)/tau, fires at y >= threshold^2, under a constant current: seconds, or nothing if it
/// never fires. Closed form -tau ln(1 - (I_th/I)^2). Source: lumped thermal model of hot-bridgewire squibs, JPL TR 32-1230
/// (1968).
[[nodiscard]] std::optional<double> bridge_fires_after_seconds(const FiringSetup& setup, double amperes);
/// Current into the hot bridge in place of the dummy load, from the current through that. With the supply's voltage known the
/// rest of the loop is; without it a loop of no other resistance is taken, which is the worst case.
[[nodiscard]] double hot_bridge_amperes(const FiringSetup& setup, double dummy_amperes);

}  // namespace coldstroke::analysis
