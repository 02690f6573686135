// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the coast, the ignition window and the firing chain must be told. Each is optional in the setup: what is left out is not
// judged, and the metrics say so.
#pragma once

namespace coldstroke::analysis {

/// Of the air's density at a known height: the weather's share.
inline constexpr double kAirRelativeStandardUncertainty = 0.03;

/// The vehicle after the tube: quadratic drag, unpowered.
struct CoastSetup {
  double drag_area_m2 = 0.0;                             ///< drag coefficient times reference area, 0: none
  double drag_area_relative_standard_uncertainty = 0.0;  ///< of the product
  double air_density_kg_per_m3 = 1.225;
  bool operator==(const CoastSetup&) const = default;
};

/// A delay that scatters. Taken as gamma distributed: never negative, a tail to the late side. No scatter: always the mean.
struct Delay {
  double mean_seconds = 0.0, standard_deviation_seconds = 0.0;
  bool operator==(const Delay&) const = default;
};

/// From the detector's decision to thrust: logic, then the igniter to gas, then build-up to 90 % of thrust; and what is asked of
/// the instant of thrust. Numbers about a motor that is not there: nothing here lights one.
struct IgnitionWindowSetup {
  double logic_seconds = 0.0;
  Delay igniter, build_up;
  double least_height_metres = 0.0;   ///< thrust not below this height above the tube's mouth
  double least_speed_mps = 0.0;       ///< and not slower than this, rising
  double wanted_probability = 0.999;  ///< of thrust before the window closes, for the latest safe decision
  bool operator==(const IgnitionWindowSetup&) const = default;
};

/// The igniter that is NOT there, in whose place a dummy load sits, and what counts as proof that it would have fired.
struct FiringSetup {
  double all_fire_amperes = 0.0;  ///< fires every one if held for `hold_seconds`
  double hold_seconds = 0.0;
  double margin = 1.5;                    ///< on the all-fire current (14 CFR 417 Appendix D, as a yardstick)
  double bridge_threshold_amperes = 0.0;  ///< current that just fires if held for ever
  double bridge_time_constant_seconds = 0.0;
  double bridge_ohms = 0.0, hot_factor = 1.0;  ///< resistance cold, and its rise when it glows
  double dummy_ohms = 0.0;                     ///< registered dummy load
  double supply_volts = 0.0;                   ///< firing supply, open circuit; 0: not known
  double loop_ohms_high = 0.0;                 ///< whole loop with the dummy load, at most; 0: not stated
  bool operator==(const FiringSetup&) const = default;
};

/// Tip-off: what lateral reading in the tube counts as touching the wall.
struct TipOffSetup {
  double wall_contact_mps2 = 0.0;  ///< 0: not asked
  bool operator==(const TipOffSetup&) const = default;
};

}  // namespace coldstroke::analysis
