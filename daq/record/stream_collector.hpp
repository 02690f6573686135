// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "analysis/trial/trace.hpp"
#include "protocol/wire/message.hpp"

namespace coldstroke::daq {

/// Sample blocks of one stream put back in place by their absolute index: late blocks fill their gap, repeated ones change
/// nothing, what never came is listed as missing. A board that restarts its count begins a new segment.
class StreamCollector {
 public:
  explicit StreamCollector(std::uint32_t period_ns) : period_ns_{period_ns} {}
  /// Blocks whose channel count differs from the first are counted and left out.
  void add(const wire::SampleBlock& block);

  struct Segment {
    std::uint64_t first_index = 0;
    std::uint8_t channels = 1, bits = 16;
    std::vector<std::int32_t> counts;  ///< interleaved
    std::vector<bool> present;         ///< one a sample
    std::uint64_t reference_us = 0;    ///< node time of the first block
    double deviation_us_sum = 0.0;     ///< over blocks: node time minus reference minus index times period
    std::size_t blocks = 0;
    [[nodiscard]] std::size_t size() const { return present.size(); }
  };
  [[nodiscard]] const std::vector<Segment>& segments() const { return segments_; }
  [[nodiscard]] std::size_t refused() const { return refused_; }
  [[nodiscard]] double period_us() const { return static_cast<double>(period_ns_) * 1.0e-3; }
  /// Node time of sample 0 of the segment, microseconds, mean over its blocks.
  [[nodiscard]] double start_us(const Segment& segment) const;
  /// The segment with the most samples, or nullptr.
  [[nodiscard]] const Segment* longest() const;

 private:
  std::uint32_t period_ns_;
  std::vector<Segment> segments_;
  std::size_t refused_ = 0;
};

/// Runs of false in `present`.
[[nodiscard]] std::vector<analysis::IndexRun> missing_runs(const std::vector<bool>& present);

}  // namespace coldstroke::daq
