// SPDX-License-Identifier: GPL-3.0-or-later
//
// Where samples lie on the bench time line: the rig board's by its own clock, the flight board's by the two clocks' alignment or,
// where there is none, by the pulse that force and acceleration share.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <utility>

#include "analysis/result.hpp"
#include "analysis/signal/delay.hpp"
#include "analysis/trial/trace.hpp"
#include "daq/record/stream_collector.hpp"
#include "daq/setup/setup.hpp"
#include "daq/stream/clock_alignment.hpp"

namespace coldstroke::daq {

/// Of a stretch of a stream: bench time of its sample 0, spacing, and the standard uncertainty of the whole.
struct Placement {
  double start_seconds = 0.0, period_seconds = 0.0, standard_uncertainty_seconds = 0.0;
};

/// From the first to the last sample of `force` that reaches a twentieth of its peak, with 5 ms on both sides. seconds
[[nodiscard]] std::pair<double, double> pulse_span(const analysis::Trace& force);

/// What to add to a record's times by the shared pulse, and its standard uncertainty: the fit's, and the accelerometer's lag
/// behind the force, by which its pulse must stay late.
[[nodiscard]] AlignedInstant pulse_shift(const analysis::PulseAlignment& aligned, const analysis::TrialSetup& setup);

/// Samples [first, last) of one channel of a segment, in SI, placed; with what is missing and what is saturated.
[[nodiscard]] analysis::Trace make_trace(const StreamCollector::Segment& segment, std::size_t first, std::size_t last,
                                         const ChannelSetup& channel, const Placement& place);

/// How a flight board's samples and decisions come to the bench time line.
struct FlightPlacing {
  std::function<Placement(const StreamCollector&, const StreamCollector::Segment&)> samples;
  /// Of an instant that the board stated, with the number of the sample it belongs to where that is known.
  std::function<AlignedInstant(double node_us, std::optional<std::uint64_t> sample_index)> instant;
};

/// `clocks` must outlive the answer.
[[nodiscard]] FlightPlacing place_by_clocks(const ClockAlignment& clocks);

/// Lays the acceleration stream on the pulse of `force` (nullptr: none recorded). Samples are placed by their number alone, so a
/// clock that jumped does not matter. Complains if one of the two is not there or their pulses are not alike.
[[nodiscard]] Result<FlightPlacing> place_by_pulse(const std::map<std::uint8_t, StreamCollector>& streams, const Setup& setup,
                                                   const analysis::Trace* force);

}  // namespace coldstroke::daq
