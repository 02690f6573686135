// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace coldstroke::analysis {

/// One line of a metric's uncertainty budget (GUM, JCGM 100:2008, 5.1).
struct Contribution {
  std::string source;                 ///< e.g. "force cell gain"
  double standard_uncertainty = 0.0;  ///< of the input, in the input's unit
  std::string unit;                   ///< of the input
  double share = 0.0;                 ///< |sensitivity| * standard_uncertainty, in the metric's unit
  bool operator==(const Contribution&) const = default;
};

/// A value with its standard uncertainty and 95 % coverage interval, all in the metric's unit.
struct Measured {
  double value = 0.0;
  double standard_uncertainty = 0.0;
  double low_95 = 0.0, high_95 = 0.0;
  bool at_least = false;  ///< the channel clipped: the truth is at or above `value`
  std::vector<Contribution> budget;
  bool beyond_calibration = false;  ///< rests on readings outside the span that was calibrated: extrapolated
  bool operator==(const Measured&) const = default;
};

/// Why a metric cannot be had. Never zero, never NaN.
struct Absent {
  std::string reason;
  bool operator==(const Absent&) const = default;
};

struct Metric {
  std::string name;    ///< as in the machine-readable output, unit last: "impulse_newton_seconds"
  std::string unit;    ///< for people: "N s"
  std::string method;  ///< one line: how it was got, e.g. "force cell (reaction), trapezoid, first motion to separation"
  std::variant<Measured, Absent> value;
  [[nodiscard]] const Measured* measured() const { return std::get_if<Measured>(&value); }
  bool operator==(const Metric&) const = default;
};

/// The fixed metric names, in the order of every table.
inline constexpr std::string_view kMetricNames[] = {
    "first_motion_seconds",
    "stroke_time_seconds",
    "impulse_newton_seconds",
    "peak_force_newtons",
    "peak_acceleration_g",
    "mean_acceleration_g",
    "exit_speed_from_force_mps",
    "exit_speed_from_acceleration_mps",
    "exit_speed_from_stroke_mps",
    "droop_pascals",
    "detector_latency_seconds",
    "mean_force_newtons",
    "rise_time_seconds",
    "exit_speed_from_free_fall_mps",
    "energy_joules",
    "efficiency_ratio",
    "recovery_pascals",
    "supply_fall_seconds",
    "chamber_rise_seconds",
    "valve_delay_seconds",
    // after the tube: analysis/flight, analysis/firing
    "release_pressure_pascals",
    "coast_apex_metres",
    "coast_apex_time_seconds",
    "thrust_onset_seconds",
    "onset_height_metres",
    "onset_speed_mps",
    "onset_before_apex_seconds",
    "onset_in_window_probability",
    "latest_safe_decision_seconds",
    "tip_off_rate_radians_per_second",
    "tip_off_tilt_radians",
    "onset_tilt_radians",
    "lateral_peak_g",
    "firing_current_amperes",
    "firing_hold_seconds",
    "firing_start_seconds",
    "firing_action_ampere2_seconds",
};

}  // namespace coldstroke::analysis
