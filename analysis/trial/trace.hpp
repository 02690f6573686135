// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a trial's analysis is given: evenly sampled channels in SI on one time line, and what the flight board decided.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "analysis/signal/index_run.hpp"

namespace coldstroke::analysis {

enum class Quantity { force, gauge_pressure, acceleration, current, angular_rate, temperature, other };

/// What the channel is to the analysis. At most one trace of each role is used; the rest are kept for display.
enum class Role {
  force,
  supply_pressure,
  chamber_pressure,
  vehicle_acceleration,
  dummy_load_current,
  lateral_acceleration,         ///< across the tube
  second_lateral_acceleration,  ///< across the tube, square to the first
  tilt_rate,                    ///< about an axis across the tube
  second_tilt_rate,             ///< square to the first
  temperature,                  ///< of the gas, or of the air about the rig, as the channel's name says
  other
};

/// Values between which a calibration is shown to hold, SI.
struct CalibratedSpan {
  double low = 0.0, high = 0.0;
  bool operator==(const CalibratedSpan&) const = default;
};

/// One channel, evenly sampled, SI unit of its quantity (N, Pa gauge, m/s^2 specific force, A, rad/s, K).
/// Sample k was taken at start_seconds + k * period_seconds on the record's time line (the bench clock; its origin is the
/// record's own). Missing samples are present as the last good value and listed in `missing`; they are never used silently.
struct Trace {
  std::string name;
  Quantity quantity = Quantity::other;
  Role role = Role::other;
  double start_seconds = 0.0;
  double period_seconds = 0.0;
  std::vector<double> samples;
  std::vector<IndexRun> missing;    ///< lost on the way, ascending, disjoint
  std::vector<IndexRun> saturated;  ///< three or more in a row within one count of the converter's or range's end
  /// Standard uncertainty of the channel's gain (relative, common to all samples) and zero (SI), from the calibration in force.
  double gain_standard_uncertainty = 0.0;
  double zero_standard_uncertainty = 0.0;
  std::optional<CalibratedSpan> calibrated = std::nullopt;  ///< absent: the calibration states none
  double resolution = 0.0;                                  ///< one count in SI, 0: unknown
  int frequency_class = 0;  ///< channel frequency class that the setup wants it shown through, 0: none; never for metrics
  /// Standard uncertainty of this trace's position on the time line relative to the bench clock, seconds (0 for the rig board).
  double alignment_standard_uncertainty_seconds = 0.0;
};

/// Where the flight board's answer came from.
enum class DecisionSource { none, live, memory, imported };

/// The flight board's own decisions, on the record's time line.
struct DetectorRecord {
  DecisionSource source = DecisionSource::none;  ///< none: the board's record is not there, outcome unknown
  std::vector<double> decisions_seconds;         ///< ascending; empty with a source: the board decided nothing
  double alignment_standard_uncertainty_seconds = 0.0;
  /// Decisions are reported late by up to this, one-sided; half of it is taken off and its spread goes into the uncertainty.
  /// 0 for a board whose decision time IS that of the deciding sample (the reference flight board).
  double polling_period_seconds = 0.0;
  double record_end_seconds = 0.0;  ///< to here the board was watching
};

/// `alignment_method` of a board placed by the pulse that force and acceleration share.
inline constexpr const char* kSharedPulse = "shared pulse";

struct TraceSet {
  std::vector<Trace> traces;
  DetectorRecord detector;
  std::optional<double> release_commanded_seconds;  ///< fast valves told to open, board event, if known
  std::string alignment_method;                     ///< "clock exchange", kSharedPulse, "one record"
};

/// The trace with this role, or nullptr.
[[nodiscard]] const Trace* find(const TraceSet& traces, Role role);

}  // namespace coldstroke::analysis
