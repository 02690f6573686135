// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the traces show before any number is made of it: usable channels, the stroke in each, the instants agreed on.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/trial/analyse.hpp"
#include "analysis/trial/channel.hpp"
#include "analysis/trial/stroke_window.hpp"

namespace coldstroke::analysis {

/// One used role: the channel, or why there is none; the stroke in it, or why there is none.
struct Witness {
  Result<Channel, Miss> channel = tl::unexpected<Miss>{Miss{}};
  Result<StrokeWindow, Miss> stroke = tl::unexpected<Miss>{Miss{}};
  [[nodiscard]] bool usable() const { return channel.has_value() && stroke.has_value(); }
  /// One sentence for a metric that needed it.
  [[nodiscard]] std::string why_not() const { return channel ? stroke.error().reason : channel.error().reason; }
};

/// Whether force and acceleration, which see the same pulse, bear the clocks' alignment out.
struct ClockCheck {
  enum class Answer { not_made, agree, disagree } answer = Answer::not_made;
  std::string words;  ///< one clause: why it could not be made; what was compared; by how much they disagree
};

struct Evidence {
  Witness force, acceleration;
  Result<Channel, Miss> supply = tl::unexpected<Miss>{Miss{}}, chamber = tl::unexpected<Miss>{Miss{}};
  /// What shakes and turns the vehicle: two lateral accelerations, two tilt rates, those that were recorded and can be used.
  std::vector<Channel> lateral, tilt_rates;
  std::string no_lateral, no_tilt_rate;  ///< why there is none
  /// Agreed instants: force's where it has them, else acceleration's less its lag; uncertainty with that trace's place on the
  /// time line.
  std::optional<Instant> first_motion, separation;
  bool from_acceleration = false;
  std::string no_stroke;  ///< why there are no instants
  ClockCheck clocks;
  std::vector<Finding> findings;
};

/// By how much an accelerometer is late behind what its vehicle does: as the setup states it, else 0 to 0.3 ms for parts fit for
/// this (common practice, no source), the middle of it. It cancels in what is read from the accelerometer alone, not against
/// other clocks.
struct AccelerometerLag {
  double seconds = 0.15e-3, standard_uncertainty = 0.15e-3 / 1.7320508075688772;
  Spread spread = Spread::rectangular;
};
[[nodiscard]] AccelerometerLag accelerometer_lag(const TrialSetup& setup);

/// Mass that the force cell's change of reading accelerates, kg.
[[nodiscard]] double moved_mass_kg(const TrialSetup& setup);

/// Every channel that a metric of the stroke is made of.
[[nodiscard]] std::vector<const Channel*> used_channels(const Evidence& evidence);

[[nodiscard]] Evidence gather(const TraceSet& traces, const TrialSetup& setup);

}  // namespace coldstroke::analysis
