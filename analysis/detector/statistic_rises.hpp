// SPDX-License-Identifier: GPL-3.0-or-later
//
// Why one pass serves every threshold. Each reference detector compares one running quantity with a threshold:
//   moving mean, velocity gain   the sum of the newest N net samples
//   k of n                       the k-th largest of the newest n
//   sustained for N periods      the smallest of the newest N + 1, i.e. k of n with k = n = N + 1
// A detector decides where that quantity first reaches the threshold, so only its new maxima matter: the first crossing of any
// threshold T is the first maximum >= T. The list of maxima (here: rises) is got in one pass; thresholds are then looked up.
// Samples before the first count as zeros, and thresholds are above zero, so maxima at or below zero are left out.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "analysis/detector/detector_spec.hpp"

namespace coldstroke::analysis {

/// The running quantity rose to `level`, more than ever before, at sample `index`.
struct Rise {
  std::size_t index = 0;
  std::int64_t level = 0;
  bool operator==(const Rise&) const = default;
};

/// A recording's net samples replaced by their places among its own distinct levels above zero: what the order kinds count with.
/// Made once a recording (a sort), used for every window.
struct RankedStream {
  std::vector<std::uint32_t> ranks;  ///< 0: at or below zero; else levels[rank - 1] is the sample
  std::vector<std::int32_t> levels;  ///< ascending, distinct, > 0
};
[[nodiscard]] RankedStream ranked(std::span<const std::int32_t> net);

/// Sums from the start, and their extremes over blocks of 64: what the sum kinds count with. Made once a recording, one pass.
struct PrefixSums {
  std::vector<std::int64_t> sums;             ///< sums[i]: of the first i samples; one more than there are samples
  std::vector<std::int64_t> highest, lowest;  ///< of sums[64 j] .. sums[64 j + 63]
};
[[nodiscard]] PrefixSums prefix_sums(std::span<const std::int32_t> net);

/// Room used over and over by the scans; contents mean nothing between calls.
struct ScanScratch {
  std::vector<std::uint32_t> in_window;
};

/// Rises of the sum of the newest `window` samples (>= 1). At most one pass, exact in 64 bits: a block that cannot hold a rise,
/// by its highest sum and the lowest sum a window earlier, is not looked into. `out` is overwritten.
void sum_rises(const PrefixSums& prefix, std::size_t window, std::vector<Rise>& out);
/// Rises of the `required`-th largest of the newest `window` samples (1 <= required <= window). One pass plus the distinct
/// levels.
void order_rises(const RankedStream& stream, std::size_t window, std::size_t required, ScanScratch& scratch,
                 std::vector<Rise>& out);

/// One recording as a detector's condition sees it, for one rest level and filter.
struct NetStream {
  std::int32_t rest_counts = 0;
  std::uint8_t filter_shift = 0;
  std::vector<std::int32_t> net;
  std::vector<Rise> sample_rises;  ///< of the samples themselves: where a building level is first reached
  RankedStream ranks;              ///< for sustained and k of n only
  PrefixSums prefix;               ///< for moving mean and velocity gain only
};
[[nodiscard]] NetStream net_stream(std::span<const std::int32_t> counts, const DetectorSettings& settings);
/// Rises of the running quantity of `settings`, which ask for this stream's rest and filter and for the kind it was made for.
void detector_rises(const NetStream& stream, const DetectorSettings& settings, ScanScratch& scratch, std::vector<Rise>& out);

/// First crossing of `threshold` (> 0): the index of the first rise to it, if any.
[[nodiscard]] std::optional<std::size_t> first_crossing(std::span<const Rise> rises, std::int64_t threshold);
/// Highest level reached at or before `index`; 0 if none.
[[nodiscard]] std::int64_t level_by(std::span<const Rise> rises, std::size_t index);

}  // namespace coldstroke::analysis
