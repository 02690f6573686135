// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/filtered_trace.hpp"

#include "analysis/signal/cfc.hpp"
#include "analysis/trial/channel.hpp"

namespace coldstroke::analysis {

Result<Trace> filtered_trace(const Trace& trace) {
  const auto filter = cfc_class(trace.frequency_class);
  if (!filter)
    return complain("There is no channel frequency class " + std::to_string(trace.frequency_class) + ".", "channel " + trace.name,
                    "Take 60, 180, 600 or 1000, or leave it out.");
  const auto channel = Channel::make(trace);
  if (!channel)
    return complain("The channel cannot be filtered: " + channel.error().reason + ".", "channel " + trace.name,
                    "Look at it unfiltered.");
  auto samples = cfc_filtered(channel->values(), trace.period_seconds, *filter);
  if (!samples) return tl::unexpected{samples.error()};
  Trace out = trace;
  out.samples = std::move(*samples);
  return out;
}

std::vector<ShownFilter> shown_filters(const TraceSet& traces) {
  std::vector<ShownFilter> out;
  for (const Trace& trace : traces.traces) {
    if (trace.frequency_class == 0) continue;
    const auto filter = cfc_class(trace.frequency_class);
    const bool allowed = filter && cfc_coefficients(*filter, trace.period_seconds).has_value();
    out.push_back({trace.name, trace.frequency_class, !allowed});
  }
  return out;
}

}  // namespace coldstroke::analysis
