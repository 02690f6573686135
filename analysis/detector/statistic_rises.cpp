// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/statistic_rises.hpp"

#include <algorithm>

#include "analysis/detector/board_counts.hpp"

namespace coldstroke::analysis {

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

void sum_rises(std::span<const std::int32_t> net, std::size_t window, std::vector<Rise>& out) {
  out.clear();
  std::int64_t sum = 0, highest = 0;
  const std::size_t filling = std::min(window, net.size());
  for (std::size_t k = 0; k < filling; ++k) {
    sum += net[k];
    if (sum > highest) out.push_back({k, highest = sum});
  }
  for (std::size_t k = filling; k < net.size(); ++k) {
    sum += std::int64_t{net[k]} - net[k - window];
    if (sum > highest) out.push_back({k, highest = sum});
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
  NetStream out{s.rest_counts, s.filter_shift, conditioned(counts, s.rest_counts, s.filter_shift), {}};
  if (s.kind == DetectorKind::sustained || s.kind == DetectorKind::k_of_n) out.ranks = ranked(out.net);
  return out;
}

void detector_rises(const NetStream& stream, const DetectorSettings& s, ScanScratch& scratch, std::vector<Rise>& out) {
  if (s.kind == DetectorKind::sustained) {
    order_rises(stream.ranks, s.window_samples + std::size_t{1}, s.window_samples + std::size_t{1}, scratch, out);
  } else if (s.kind == DetectorKind::k_of_n) {
    order_rises(stream.ranks, s.window_samples, s.required_samples, scratch, out);
  } else {
    sum_rises(stream.net, s.window_samples, out);
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
