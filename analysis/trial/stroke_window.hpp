// SPDX-License-Identifier: GPL-3.0-or-later
//
// The stroke in one trace: first motion, peak, separation. Always on unfiltered samples.
#pragma once

#include <cstddef>
#include <optional>

#include "analysis/trial/budget.hpp"
#include "analysis/trial/channel.hpp"

namespace coldstroke::analysis {

struct Instant {
  double seconds = 0.0;
  double standard_uncertainty = 0.0;
  Spread spread = Spread::normal;
};

/// Values are net: reading less reading at rest.
struct StrokeWindow {
  Instant first_motion, separation;
  double rest = 0.0;                       ///< mean reading before
  double rest_standard_uncertainty = 0.0;  ///< of that mean
  double noise = 0.0;                      ///< standard deviation of one sample
  std::size_t rest_count = 0;
  std::size_t peak_index = 0;  ///< largest sample of the pulse
  double peak = 0.0;           ///< its net value
  double start_value = 0.0;    ///< net value just after first motion
  double end_value = 0.0;      ///< net value just before separation
  std::size_t fall_index = 0;  ///< first sample that is no longer on the pulse's course
  double lag_seconds = 0.0;    ///< by which the samples follow the instants late, where the sensor's frequency is known
  bool abrupt = true;          ///< false: the pulse faded out, separation is where it comes back to zero by extrapolation
  std::optional<double> other_pulse_seconds;  ///< a second ejection-like pulse
};

/// What the picker must know.
struct StrokeSearch {
  double least_net_peak = 0.0;        ///< a pulse below this is no stroke
  double natural_frequency_hz = 0.0;  ///< of the sensor, 0: unknown
  double lag_seconds = 0.0;           ///< of a well-damped sensor that is known by its lag only; its instants stay late by it
  double shortest_lag_seconds = 0.0;  ///< that this lag may be: over how many samples a sharp fall is seen
  double lag_standard_uncertainty_seconds = 0.0;  ///< of a sensor whose frequency is unknown, on both instants
  double returned_share = 0.6;                    ///< of the pulse's area given back, and the reading back at rest: it never left
  double flight_level = 0.0;                      ///< net reading while the vehicle flies, weight missing: negative
  std::optional<double> quiet_until_seconds;      ///< release commanded: rest reading is taken before this
  double flight_seconds_per_area = 0.0;  ///< time to the apex a unit of pulse area; within 0.8 of it a second pulse is no landing
};

/// Kinds of Miss: no_motion, reversed_scale (the push reads downwards), no_baseline (the record begins in the stroke),
/// record_too_short (it ends in the stroke), never_left, lost_samples (a pick falls into a gap), rate_too_low.
[[nodiscard]] Result<StrokeWindow, Miss> find_stroke(const Channel& channel, const StrokeSearch& search);

}  // namespace coldstroke::analysis
