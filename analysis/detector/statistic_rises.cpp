// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/statistic_rises.hpp"

#include <algorithm>

#include "analysis/detector/board_counts.hpp"

namespace coldstroke::analysis {
namespace {

constexpr std::size_t kBlock = 64;

}  // namespace

RankedStream ranked(std::span<const std::int32_t> net) {
  RankedStream out;
  std::copy_if(net.begin(), net.end(), std::back_inserter(out.levels), [](std::int32_t v) { return v > 0; });
  std::sort(out.levels.begin(), out.levels.end());
  out.levels.erase(std::unique(out.levels.begin(), out.levels.end()), out.levels.end());
  out.ranks.reserve(net.size());
  for (const std::int32_t v : net)
    out.ranks.push_back(
        static_cast<std::uint32_t>(std::upper_bound(out.levels.begin(), out.levels.end(), v) - out.levels.begin()));
  return out;
}

PrefixSums prefix_sums(std::span<const std::int32_t> net) {
  PrefixSums out;
  out.sums.reserve(net.size() + 1);
  out.sums.push_back(0);
  for (const std::int32_t v : net) out.sums.push_back(out.sums.back() + v);
  for (std::size_t begin = 0; begin < out.sums.size(); begin += kBlock) {
    const auto first = out.sums.begin() + static_cast<std::ptrdiff_t>(begin);
    const auto [low, high] =
        std::minmax_element(first, first + static_cast<std::ptrdiff_t>(std::min(kBlock, out.sums.size() - begin)));
    out.lowest.push_back(*low);
    out.highest.push_back(*high);
  }
  return out;
}

void sum_rises(const PrefixSums& prefix, std::size_t window, std::vector<Rise>& out) {
  out.clear();
  const std::vector<std::int64_t>& sums = prefix.sums;
  const auto earlier = [&](std::size_t i) { return i > window ? i - window : 0; };
  std::int64_t highest = 0;
  for (std::size_t block = 0; block < prefix.highest.size(); ++block) {
    const std::size_t begin = std::max<std::size_t>(1, block * kBlock), end = std::min(sums.size(), (block + 1) * kBlock);
    if (begin >= end) continue;
    const std::int64_t lowest = std::min(prefix.lowest[earlier(begin) / kBlock], prefix.lowest[earlier(end - 1) / kBlock]);
    if (prefix.highest[block] - lowest <= highest) continue;
    for (std::size_t i = begin; i < end; ++i) {
      const std::int64_t sum = sums[i] - sums[earlier(i)];
      if (sum > highest) out.push_back({i - 1, highest = sum});
    }
  }
}

void order_rises(const RankedStream& stream, std::size_t window, std::size_t required, ScanScratch& scratch,
                 std::vector<Rise>& out) {
  out.clear();
  const auto top = static_cast<std::uint32_t>(stream.levels.size());
  std::vector<std::uint32_t>& in_window = scratch.in_window;  // samples of each rank
  in_window.assign(top + 2, 0);
  // `next` is the lowest rank the quantity has not reached yet; `above` counts the window's samples of that rank or higher.
  // next only climbs, and each climb takes off one rank's samples: no search, no sort.
  std::uint32_t next = 1;
  std::size_t above = 0;
  for (std::size_t k = 0; k < stream.ranks.size() && next <= top; ++k) {
    if (k >= window) {
      const std::uint32_t gone = stream.ranks[k - window];
      --in_window[gone];
      if (gone >= next) --above;
    }
    const std::uint32_t come = stream.ranks[k];
    ++in_window[come];
    if (come >= next) ++above;
    if (above < required) continue;
    while (next <= top && above >= required) above -= in_window[next++];
    out.push_back({k, stream.levels[next - 2]});
  }
}

NetStream net_stream(std::span<const std::int32_t> counts, const DetectorSettings& s) {
  NetStream out{s.rest_counts, s.filter_shift, conditioned(counts, s.rest_counts, s.filter_shift), {}, {}, {}};
  std::int32_t highest = 0;
  for (std::size_t k = 0; k < out.net.size(); ++k)
    if (out.net[k] > highest) out.sample_rises.push_back({k, highest = out.net[k]});
  if (s.kind == DetectorKind::sustained || s.kind == DetectorKind::k_of_n)
    out.ranks = ranked(out.net);
  else
    out.prefix = prefix_sums(out.net);
  return out;
}

void detector_rises(const NetStream& stream, const DetectorSettings& s, ScanScratch& scratch, std::vector<Rise>& out) {
  if (s.kind == DetectorKind::sustained) {
    order_rises(stream.ranks, s.window_samples + std::size_t{1}, s.window_samples + std::size_t{1}, scratch, out);
  } else if (s.kind == DetectorKind::k_of_n) {
    order_rises(stream.ranks, s.window_samples, s.required_samples, scratch, out);
  } else {
    sum_rises(stream.prefix, s.window_samples, out);
  }
}

std::optional<std::size_t> first_crossing(std::span<const Rise> rises, std::int64_t threshold) {
  const auto at = std::lower_bound(rises.begin(), rises.end(), threshold,
                                   [](const Rise& rise, std::int64_t level) { return rise.level < level; });
  if (at == rises.end()) return std::nullopt;
  return at->index;
}

std::int64_t level_by(std::span<const Rise> rises, std::size_t index) {
  const auto after =
      std::upper_bound(rises.begin(), rises.end(), index, [](std::size_t i, const Rise& rise) { return i < rise.index; });
  return after == rises.begin() ? 0 : std::prev(after)->level;
}

}  // namespace coldstroke::analysis
