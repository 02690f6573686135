// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace coldstroke::daq {

/// A board's own 64-bit microsecond clock: starts somewhere, runs a little fast or slow, may jump.
class NodeClock {
 public:
  NodeClock() = default;
  /// Reads `offset_us` at bench time `start_ns` and gains `drift_ppm` microseconds a second.
  NodeClock(std::int64_t offset_us, double drift_ppm, std::int64_t start_ns)
      : offset_us_{offset_us}, rate_{1.0 + drift_ppm * 1.0e-6}, start_ns_{start_ns} {}

  /// What the board reads at `bench_ns`; never goes back except by a jump.
  [[nodiscard]] std::uint64_t read(std::int64_t bench_ns) {
    const auto passed = static_cast<std::int64_t>(std::floor(static_cast<double>(bench_ns - start_ns_) * rate_ * 1.0e-3));
    return newest(offset_us_ + passed);
  }
  /// Reading at sample `index`, one every `period_ns` of this clock since its start.
  [[nodiscard]] std::uint64_t read_at_sample(std::int64_t index, std::int64_t period_ns) {
    return newest(offset_us_ + index * period_ns / 1000);
  }
  /// Bench time of that sample.
  [[nodiscard]] std::int64_t sample_ns(std::int64_t index, std::int64_t period_ns) const {
    return start_ns_ + std::llround(static_cast<double>(index * period_ns) / rate_);
  }
  /// Moves the reading; the sample clock, a counter of its own, goes on undisturbed. A clock cannot read below zero.
  void jump(std::int64_t by_us) {
    offset_us_ = std::max<std::int64_t>(offset_us_ + by_us, 0);
    newest_us_ = 0;
  }
  [[nodiscard]] double drift_ppm() const { return (rate_ - 1.0) * 1.0e6; }
  /// Reading that bench time zero would have had, seconds.
  [[nodiscard]] double offset_seconds() const {
    return static_cast<double>(offset_us_) * 1.0e-6 - static_cast<double>(start_ns_) * rate_ * 1.0e-9;
  }

 private:
  std::uint64_t newest(std::int64_t us) {
    newest_us_ = std::max(newest_us_, std::max<std::int64_t>(us, 0));
    return static_cast<std::uint64_t>(newest_us_);
  }
  std::int64_t offset_us_ = 0;
  double rate_ = 1.0;
  std::int64_t start_ns_ = 0, newest_us_ = 0;
};

}  // namespace coldstroke::daq
