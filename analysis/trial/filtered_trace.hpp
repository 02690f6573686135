// SPDX-License-Identifier: GPL-3.0-or-later
//
// A channel as its setup wants it shown: through a channel frequency class. For looking at only: no instant and no metric is ever
// made of it.
#pragma once

#include <vector>

#include "analysis/result.hpp"
#include "analysis/trial/trace.hpp"

namespace coldstroke::analysis {

/// The trace through its own frequency class (SAE J211-1, phaseless); lost samples are bridged by straight lines first and stay
/// listed. Complains if the sample rate does not allow the class, if it is none of the four, or if samples are not numbers.
[[nodiscard]] Result<Trace> filtered_trace(const Trace& trace);

/// How a channel with a frequency class is shown; refused where the sample rate does not allow it.
struct ShownFilter {
  std::string channel;
  int frequency_class = 0;
  bool refused = false;
  bool operator==(const ShownFilter&) const = default;
};

/// Of every channel that has a class, in the order of the traces.
[[nodiscard]] std::vector<ShownFilter> shown_filters(const TraceSet& traces);

}  // namespace coldstroke::analysis
