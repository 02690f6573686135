// SPDX-License-Identifier: GPL-3.0-or-later
//
// Three time lines, three types, so that mixing them does not compile. The rig board's clock is the bench clock.
#pragma once

#include <chrono>
#include <cstdint>

namespace coldstroke::daq {

/// One clock's time line, microseconds since that clock's own zero. Says nothing about any other clock.
template <class Tag>
struct Timeline {
  using rep = std::int64_t;
  using period = std::micro;
  using duration = std::chrono::duration<rep, period>;
  using time_point = std::chrono::time_point<Timeline>;
  static constexpr bool is_steady = true;  // no now(): instants arrive with bytes, they are never read here
};
using RigTime = Timeline<struct RigTag>::time_point;  ///< the bench clock
using FlightTime = Timeline<struct FlightTag>::time_point;
using HostTime = Timeline<struct HostTag>::time_point;  ///< the host's steady clock, or simulated time in lock-step

template <class TimePoint>
[[nodiscard]] constexpr TimePoint at_us(std::int64_t us) {
  return TimePoint{typename TimePoint::duration{us}};
}
template <class TimePoint>
[[nodiscard]] constexpr std::int64_t us_of(TimePoint t) {
  return t.time_since_epoch().count();
}
/// `seconds` after `t` on the same time line, to the microsecond below.
template <class TimePoint>
[[nodiscard]] constexpr TimePoint seconds_later(TimePoint t, double seconds) {
  return t + typename TimePoint::duration{static_cast<std::int64_t>(seconds * 1.0e6)};
}
/// Seconds from `earlier` to `later` on one time line.
template <class TimePoint>
[[nodiscard]] constexpr double seconds_between(TimePoint earlier, TimePoint later) {
  return static_cast<double>((later - earlier).count()) * 1.0e-6;
}

}  // namespace coldstroke::daq
