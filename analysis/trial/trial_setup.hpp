// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the analysis must know beside the traces. Filled from the setup file (daq/setup), never defaulted silently there.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/flight/flight_setup.hpp"

namespace coldstroke::analysis {

/// Where the force cell sits; the two need different momentum balances (docs/methods.md).
enum class ForceCell {
  reaction,  ///< under the tube: reads the change of momentum of everything that moves
  in_line    ///< between piston and vehicle: pushes what is ahead of it
};
/// What the force reading is zero on.
enum class ForceTare {
  vehicle_seated,  ///< zeroed with the vehicle on: weight is already out
  empty            ///< zeroed without the vehicle: weight is in the reading
};

/// What to compare with limits: a metric's name, the detector's outcome, or a data-quality condition.
struct Criterion {
  enum class Kind {
    metric,             ///< `metric` within [lower, upper]
    detector_in_time,   ///< outcome must be in_time
    no_lost_samples,    ///< none missing from first motion - margin to separation + margin in any used trace
    nothing_saturated,  ///< none of the used traces saturated from first motion - margin to separation
    alignment_within,   ///< clock alignment standard uncertainty at most `upper` seconds
    would_fire          ///< the firing chain, judged from the dummy load's current, must come out as would_fire
  };
  Kind kind = Kind::metric;
  std::string name;                    ///< for people; unique in a setup
  std::string metric;                  ///< kind metric: one of kMetricNames
  std::optional<double> lower, upper;  ///< in the metric's own unit (the name says it)
  bool operator==(const Criterion&) const = default;
};

struct TrialSetup {
  double vehicle_mass_kg = 0.0, vehicle_mass_standard_uncertainty_kg = 0.0;
  double moving_rig_mass_kg = 0.0;  ///< piston, sabot: moves with the vehicle, stays on the rig
  double moving_rig_mass_standard_uncertainty_kg = 0.0;
  double front_hardware_mass_kg = 0.0;  ///< in-line cell only: what sits ahead of the cell and is not the vehicle
  double stroke_metres = 0.0, stroke_standard_uncertainty_metres = 0.0;
  double bore_metres = 0.0;
  double tilt_radians = 0.0;  ///< tube axis from vertical
  ForceCell force_cell = ForceCell::reaction;
  ForceTare force_tare = ForceTare::vehicle_seated;
  double force_cell_natural_frequency_hz = 0.0;  ///< 0: unknown; with it the pick's known lag is stated
  /// By which the accelerometer shows late what its vehicle does, its own filter included (2 damping / natural frequency, rad/s);
  /// absent: not known.
  std::optional<double> accelerometer_lag_seconds;
  double accelerometer_lag_standard_uncertainty_seconds = 0.0;
  double reservoir_volume_m3 = 0.0;             ///< 0: unknown
  std::optional<double> landing_height_metres;  ///< where the vehicle is caught, above its place at separation
  double landing_height_standard_uncertainty_metres = 0.0;
  double decision_deadline_seconds = 0.0;  ///< from first motion; later is late
  std::optional<double> igniter_delay_seconds;
  // What comes after the tube; what is left out is not judged.
  std::optional<CoastSetup> coast;
  std::optional<IgnitionWindowSetup> ignition_window;
  std::optional<FiringSetup> firing;
  std::optional<TipOffSetup> tip_off;
  std::vector<Criterion> criteria;
};

}  // namespace coldstroke::analysis
