// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/flight_placing.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "analysis/signal/saturation.hpp"
#include "analysis/trial/evidence.hpp"

namespace coldstroke::daq {

std::pair<double, double> pulse_span(const analysis::Trace& force) {
  constexpr double kShare = 0.05, kRoom = 5.0e-3;
  const double threshold = kShare * *std::ranges::max_element(force.samples);
  const auto above = [threshold](double x) { return x >= threshold; };
  const auto first = std::ranges::find_if(force.samples, above);
  const auto last = std::find_if(force.samples.rbegin(), force.samples.rend(), above);
  const auto at = [&](std::ptrdiff_t k) { return force.start_seconds + static_cast<double>(k) * force.period_seconds; };
  return {at(first - force.samples.begin()) - kRoom, at(std::distance(last, force.samples.rend()) - 1) + kRoom};
}

AlignedInstant pulse_shift(const analysis::PulseAlignment& aligned, const analysis::TrialSetup& setup) {
  const analysis::AccelerometerLag lag = analysis::accelerometer_lag(setup);
  return {aligned.shift_seconds + lag.seconds, std::hypot(aligned.standard_uncertainty_seconds, lag.standard_uncertainty)};
}

analysis::Trace make_trace(const StreamCollector::Segment& segment, std::size_t first, std::size_t last,
                           const ChannelSetup& channel, const Placement& place) {
  analysis::Trace trace;
  trace.name = channel.name;
  trace.quantity = channel.quantity;
  trace.role = channel.role;
  trace.start_seconds = place.start_seconds + static_cast<double>(first) * place.period_seconds;
  trace.period_seconds = place.period_seconds;
  trace.alignment_standard_uncertainty_seconds = place.standard_uncertainty_seconds;
  trace.gain_standard_uncertainty = channel.calibration.gain_standard_uncertainty;
  trace.zero_standard_uncertainty = channel.calibration.zero_standard_uncertainty;
  trace.calibrated = channel.calibration.span;
  trace.resolution = std::abs(channel.calibration.scale);
  trace.frequency_class = channel.frequency_class;
  trace.samples.reserve(last - first);
  for (std::size_t k = first; k < last; ++k)
    trace.samples.push_back(channel.calibration.si(segment.counts[k * segment.channels + channel.index]));
  trace.missing = missing_runs({segment.present.begin() + static_cast<std::ptrdiff_t>(first),
                                segment.present.begin() + static_cast<std::ptrdiff_t>(last)});
  // the narrower of the converter's ends and the declared range
  const double count_end = std::ldexp(1.0, segment.bits - 1);
  const double one = channel.calibration.si(-count_end);
  const double other = channel.calibration.si(count_end - 1.0);
  trace.saturated = analysis::saturated_runs(trace.samples, std::max(std::min(one, other), channel.range_low),
                                             std::min(std::max(one, other), channel.range_high), trace.resolution);
  trace.saturated = analysis::joined(std::move(trace.saturated), analysis::flat_top_runs(trace.samples, trace.resolution));
  return trace;
}

FlightPlacing place_by_clocks(const ClockAlignment& clocks) {
  return {[&clocks](const StreamCollector& stream, const StreamCollector::Segment& segment) {
            const double start_us = stream.start_us(segment);
            const double end_us = start_us + static_cast<double>(segment.size() - 1) * stream.period_us();
            const AlignedInstant start = clocks.to_bench(start_us), end = clocks.to_bench(end_us);
            const double steps = std::max<double>(1.0, static_cast<double>(segment.size() - 1));
            return Placement{start.bench_seconds, (end.bench_seconds - start.bench_seconds) / steps,
                             start.standard_uncertainty_seconds};
          },
          [&clocks](double node_us, std::optional<std::uint64_t>) { return clocks.to_bench(node_us); }};
}

Result<FlightPlacing> place_by_pulse(const std::map<std::uint8_t, StreamCollector>& streams, const Setup& setup,
                                     const analysis::Trace* force) {
  const ChannelSetup* channel = setup.channel(analysis::Role::vehicle_acceleration);
  const auto stream = channel == nullptr ? streams.end() : streams.find(channel->stream);
  const StreamCollector::Segment* segment = stream == streams.end() ? nullptr : stream->second.longest();
  if (force == nullptr || force->samples.empty() || segment == nullptr || channel->index >= segment->channels)
    return complain("there is no force or no acceleration to align by", "shared pulse", "record both");
  const double period = stream->second.period_us() * 1.0e-6;
  const analysis::Trace acceleration = make_trace(*segment, 0, segment->size(), *channel, {0.0, period, 0.0});
  const auto [from, to] = pulse_span(*force);
  const auto aligned = analysis::align_on_pulse({force->samples, force->start_seconds, force->period_seconds}, from, to,
                                                {acceleration.samples, 0.0, period});
  if (!aligned) return tl::unexpected{aligned.error()};
  const AlignedInstant shift = pulse_shift(*aligned, setup.trial);
  const Placement placed{shift.bench_seconds, period, shift.standard_uncertainty_seconds};
  const std::uint64_t first_index = segment->first_index;
  const double start_us = stream->second.start_us(*segment);
  return FlightPlacing{[placed](const StreamCollector&, const StreamCollector::Segment&) { return placed; },
                       [placed, first_index, start_us](double node_us, std::optional<std::uint64_t> index) {
                         const double since =
                             index ? static_cast<double>(static_cast<std::int64_t>(*index - first_index)) * placed.period_seconds
                                   : (node_us - start_us) * 1.0e-6;
                         return AlignedInstant{placed.start_seconds + since, placed.standard_uncertainty_seconds};
                       }};
}

}  // namespace coldstroke::daq
