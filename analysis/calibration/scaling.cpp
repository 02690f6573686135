// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/calibration/scaling.hpp"

#include <cmath>

namespace coldstroke::analysis {
namespace {

constexpr SignalEnds kRatiometric{0.05, 0.09, 0.91, 0.95, 0.1, 0.9};
constexpr SignalEnds kCurrentLoop{3.6e-3, 3.8e-3, 20.5e-3, 21.0e-3, 4.0e-3, 20.0e-3};

}  // namespace

const SignalEnds& ends_of(TransducerSignal signal) {
  return signal == TransducerSignal::ratiometric ? kRatiometric : kCurrentLoop;
}

Scaled scale(TransducerSignal kind, double signal, TransducerSpan span) {
  const SignalEnds& ends = ends_of(kind);
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
  return scale(TransducerSignal::ratiometric, supply_volts > 0.0 ? signal_volts / supply_volts : NAN, span);
}

Scaled scale_current_loop(double amperes, TransducerSpan span) { return scale(TransducerSignal::current_loop, amperes, span); }

}  // namespace coldstroke::analysis
