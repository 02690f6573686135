// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/calibration/scaling.hpp"

#include <cmath>

namespace coldstroke::analysis {
namespace {

struct Ends {
  double broken, low, high, shorted;  ///< signal; between low and high it measures
  double span_low, span_high;         ///< signal at the ends of the transducer's span
};
constexpr Ends kRatiometric{0.05, 0.09, 0.91, 0.95, 0.1, 0.9};
constexpr Ends kCurrentLoop{3.6e-3, 3.8e-3, 20.5e-3, 21.0e-3, 4.0e-3, 20.0e-3};

Scaled scale(double signal, const Ends& ends, TransducerSpan span) {
  Scaled out;
  out.value = span.low + (signal - ends.span_low) / (ends.span_high - ends.span_low) * (span.high - span.low);
  if (!(signal > ends.broken))  // also what is not a number
    out.wire = WireState::broken;
  else if (signal >= ends.shorted)
    out.wire = WireState::shorted;
  else if (signal < ends.low)
    out.wire = WireState::below_range;
  else if (signal > ends.high)
    out.wire = WireState::above_range;
  return out;
}

}  // namespace

const char* word(WireState state) {
  switch (state) {
    case WireState::good:
      return "good";
    case WireState::below_range:
      return "below range";
    case WireState::above_range:
      return "above range";
    case WireState::broken:
      return "broken wire";
    case WireState::shorted:
      return "shorted";
  }
  return "";
}

Scaled scale_ratiometric(double signal_volts, double supply_volts, TransducerSpan span) {
  return scale(supply_volts > 0.0 ? signal_volts / supply_volts : NAN, kRatiometric, span);
}

Scaled scale_current_loop(double amperes, TransducerSpan span) { return scale(amperes, kCurrentLoop, span); }

}  // namespace coldstroke::analysis
