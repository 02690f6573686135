// SPDX-License-Identifier: GPL-3.0-or-later
//
// Exit speed from how long the vehicle was in the air: no force, no acceleration, no stroke in it.
#pragma once

#include <optional>

#include "analysis/trial/channel.hpp"
#include "analysis/trial/stroke_pulse.hpp"
#include "analysis/trial/trial_setup.hpp"

namespace coldstroke::analysis {

/// A vertical flight with quadratic drag, closed form: up (vt/g) atan(v/vt), down (vt/g) acosh(exp(g d/vt^2)), vt the terminal
/// speed. Without drag the parabola's.
struct FreeFall {
  double mass_kg = 0.0;
  double drag_area_m2 = 0.0;           ///< drag coefficient times frontal area; 0: no drag
  double air_density_kg_per_m3 = 1.2;  ///< 20 C at sea level
  double landing_height_metres = 0.0;  ///< of the place it is caught above its place at separation
};

/// Seconds from leaving upwards at `speed_mps` to coming down to the landing height; nothing if it never gets there.
[[nodiscard]] std::optional<double> flight_seconds(const FreeFall& fall, double speed_mps);
/// The upward speed of a flight of so many seconds; nothing below that of the shortest flight or above 500 m/s.
[[nodiscard]] std::optional<double> speed_of_flight(const FreeFall& fall, double seconds);

/// First blow after the flight in an acceleration trace: the line through 10 and 30 % of its peak, taken down to zero. Looks from
/// a tenth of a second after separation for a reading more than 1 g (and ten times the noise) above that of free flight.
/// `flight_level`: net reading in flight.
[[nodiscard]] std::optional<Instant> find_landing(const Channel& acceleration, const StrokeWindow& stroke, double flight_level);

/// Exit speed, m/s, from separation to landing in the acceleration, the setup's landing height and drag.
[[nodiscard]] Made speed_from_flight(const Pulse& acceleration, const TrialSetup& setup);

}  // namespace coldstroke::analysis
