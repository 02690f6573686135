// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/stream_collector.hpp"

#include <algorithm>

namespace coldstroke::daq {

namespace {
/// A jump forward of more than this many samples (100 s at 10 kHz) is a damaged count, not a gap worth memory.
constexpr std::uint64_t kLongestGap = 1'000'000;
/// Blocks arrive at most this late; an index further back means that the board began to count anew.
constexpr std::uint64_t kLatest = 10'000;
}  // namespace

void StreamCollector::add(const wire::SampleBlock& block) {
  const std::size_t samples = block.counts.size() / block.channels;
  if (samples == 0) return;
  const bool fresh = segments_.empty() || block.first_index + kLatest < segments_.back().first_index + segments_.back().size() ||
                     block.first_index > segments_.back().first_index + segments_.back().size() + kLongestGap;
  if (fresh) segments_.push_back({block.first_index, block.channels, block.bits, {}, {}, block.node_time_us, 0.0, 0});
  Segment& segment = segments_.back();
  if (block.channels != segment.channels || block.first_index < segment.first_index) {
    ++refused_;
    return;
  }
  const std::size_t at = block.first_index - segment.first_index;
  if (at + samples > segment.size()) {
    const std::size_t old = segment.size();
    segment.present.resize(at + samples, false);
    segment.counts.resize((at + samples) * segment.channels);
    // a gap holds the last good value so that plots stay in range; `present` says that it is not data
    for (std::size_t k = old; k < at && old > 0; ++k)
      std::copy_n(segment.counts.begin() + static_cast<std::ptrdiff_t>((old - 1) * segment.channels), segment.channels,
                  segment.counts.begin() + static_cast<std::ptrdiff_t>(k * segment.channels));
  }
  std::ranges::copy(block.counts, segment.counts.begin() + static_cast<std::ptrdiff_t>(at * segment.channels));
  std::fill_n(segment.present.begin() + static_cast<std::ptrdiff_t>(at), samples, true);
  // differences first: microseconds since a board's power-up, summed, would outgrow a double's whole numbers
  const auto since = static_cast<std::int64_t>(block.node_time_us - segment.reference_us);
  segment.deviation_us_sum += static_cast<double>(since) - static_cast<double>(at) * period_us();
  ++segment.blocks;
}

double StreamCollector::start_us(const Segment& segment) const {
  return static_cast<double>(segment.reference_us) + segment.deviation_us_sum / static_cast<double>(segment.blocks);
}

const StreamCollector::Segment* StreamCollector::longest() const {
  const auto found = std::ranges::max_element(segments_, {}, &Segment::size);
  return found == segments_.end() ? nullptr : &*found;
}

std::vector<analysis::IndexRun> missing_runs(const std::vector<bool>& present) {
  std::vector<analysis::IndexRun> runs;
  for (std::size_t k = 0; k < present.size(); ++k) {
    if (present[k]) continue;
    if (runs.empty() || runs.back().last != k) runs.push_back({k, k});
    runs.back().last = k + 1;
  }
  return runs;
}

}  // namespace coldstroke::daq
