// SPDX-License-Identifier: GPL-3.0-or-later
//
// The stroke of one trace as a pulse: its integrals, its peak, and what either is worth.
#pragma once

#include <string>

#include "analysis/signal/integrate.hpp"
#include "analysis/trial/budget.hpp"
#include "analysis/trial/channel.hpp"
#include "analysis/trial/number.hpp"
#include "analysis/trial/peak.hpp"
#include "analysis/trial/stroke_window.hpp"

namespace coldstroke::analysis {

/// Net values (change from rest) from first motion to separation. Refers to the channel and window it was made of.
struct Pulse {
  const Channel* channel = nullptr;
  const StrokeWindow* window = nullptr;
  Instant first_motion, separation;  ///< on this trace
  double duration = 0.0, start_value = 0.0, end_value = 0.0;
  WindowIntegral integral;
  double bridged = 0.0;  ///< standard uncertainty of the first integral
  bool clipped = false;
  std::string name;  ///< "force cell", "accelerometer"
};

/// Integrals of the net values between the window's instants; the sensor's lag is taken out of the samples, the ends are the
/// window's start and end values.
[[nodiscard]] Pulse pulse_of(const Channel& channel, const StrokeWindow& window, std::string name);

/// Budget of the first integral, in its own unit; `unit` is that of the samples.
[[nodiscard]] Budget integral_budget(const Pulse& pulse, const char* unit);

/// Top of the pulse; `place` counts from the channel's first sample.
[[nodiscard]] PeakHeight peak_of(const Pulse& pulse, double natural_frequency_hz);
/// Lost samples so near the top that the peak may be among them.
[[nodiscard]] bool peak_may_be_lost(const Pulse& pulse, const PeakHeight& peak);
/// Adds the lines of a metric that is `factor` times the peak.
void add_peak(Budget& budget, const Pulse& pulse, const PeakHeight& peak, double factor, const char* unit);

/// From 10 to 90 % of the net peak, s: IEEE 181's reference levels, with the reading at rest and the peak as the two states.
[[nodiscard]] Made rise_time_of(const Pulse& force, double natural_frequency_hz);

}  // namespace coldstroke::analysis
