// SPDX-License-Identifier: GPL-3.0-or-later
//
// Ready scalings of industrial transducers, with what their signal says of the wire.
#pragma once

namespace coldstroke::analysis {

/// What a signal outside its span means. Limits are common practice for such transducers; those of the current loop follow
/// NAMUR NE 43 (from memory).
enum class WireState : unsigned char {
  good,
  below_range,  ///< under the span, the wire is whole: zero drift or a pressure below the range
  above_range,  ///< over the span: overload
  broken,       ///< no signal: broken wire, lost supply
  shorted       ///< more than any transducer gives: short circuit, or a transducer that reports its own failure
};
[[nodiscard]] const char* word(WireState state);

struct Scaled {
  double value = 0.0;  ///< SI; meaningless if broken or shorted
  WireState wire = WireState::good;
};

/// Span of the transducer: SI at the signal's low and high end.
struct TransducerSpan {
  double low = 0.0, high = 0.0;
  bool operator==(const TransducerSpan&) const = default;
};

enum class TransducerSignal : unsigned char {
  ratiometric,  ///< signal as a part of its supply
  current_loop  ///< A
};

/// Signals at which a transducer's answer changes its meaning, in the signal's own unit.
struct SignalEnds {
  double broken = 0.0, low = 0.0, high = 0.0, shorted = 0.0;  ///< between low and high it measures
  double span_low = 0.0, span_high = 0.0;                     ///< at the ends of the transducer's span
};
[[nodiscard]] const SignalEnds& ends_of(TransducerSignal signal);

/// The two below, by their kind.
[[nodiscard]] Scaled scale(TransducerSignal kind, double signal, TransducerSpan span);

/// 10 to 90 % of its supply (0.5 to 4.5 V of 5 V): the supply's drift divides out. Under 5 % broken, over 95 % shorted (common
/// practice, no source). A supply that is not positive counts as broken.
[[nodiscard]] Scaled scale_ratiometric(double signal_volts, double supply_volts, TransducerSpan span);
/// 4 to 20 mA. At or under 3.6 mA broken, at or over 21 mA shorted or failed; 3.8 to 20.5 mA is measurement.
[[nodiscard]] Scaled scale_current_loop(double amperes, TransducerSpan span);

}  // namespace coldstroke::analysis
