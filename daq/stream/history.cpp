// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/stream/history.hpp"

#include <algorithm>
#include <cassert>
#include <limits>

namespace coldstroke::daq {

namespace {
/// A gap longer than the ring would only push NaN over NaN.
constexpr double kLost = std::numeric_limits<double>::quiet_NaN();
}  // namespace

History::History(std::size_t capacity, double period_seconds)
    : capacity_{capacity}, period_seconds_{period_seconds}, ring_{capacity} {
  assert(capacity > 0 && period_seconds > 0.0);
}

void History::append(std::uint64_t index, double seconds, std::span<const double> samples) {
  if (samples.empty()) return;
  waiting_.push_back(Block{index, seconds, false, {samples.begin(), samples.end()}});
  const std::unique_lock lock{mutex_, std::try_to_lock};
  if (!lock.owns_lock()) return;
  for (const Block& block : waiting_) put(block);
  waiting_.clear();
}

void History::clear() {
  waiting_.clear();
  waiting_.push_back(Block{0, 0.0, true, {}});
}

void History::put(const Block& block) {
  if (block.clear) {
    ring_.clear();
    next_index_ = 0;
    ++generation_;
    return;
  }
  if (ring_.empty()) next_index_ = block.index;
  if (block.index < next_index_) return;  // repeated or late: what is shown is already newer
  const std::uint64_t gap = std::min<std::uint64_t>(block.index - next_index_, capacity_);
  for (std::uint64_t k = 0; k < gap; ++k) ring_.push_back(kLost);
  const std::size_t room = capacity_ - std::min(capacity_, ring_.size());
  if (block.samples.size() > room) overwritten_ += block.samples.size() - room;
  ring_.insert(ring_.end(), block.samples.begin(), block.samples.end());
  next_index_ = block.index + block.samples.size();
  newest_seconds_ = block.seconds + static_cast<double>(block.samples.size() - 1) * period_seconds_;
}

void History::copy_since(std::uint64_t index, std::uint64_t& generation, Copy& out) const {
  const std::scoped_lock lock{mutex_};
  out.restarted = generation != generation_;
  generation = generation_;
  out.samples.clear();
  out.skipped = 0;
  const std::uint64_t oldest = next_index_ - ring_.size();
  std::uint64_t from = out.restarted ? oldest : std::min(index, next_index_);
  if (from < oldest) {
    out.skipped = oldest - from;
    from = oldest;
  }
  out.first_index = from;
  out.newest_seconds = newest_seconds_;
  const auto skip = static_cast<std::size_t>(from - oldest);
  const auto one = ring_.array_one();
  const auto two = ring_.array_two();
  out.samples.reserve(ring_.size() - skip);
  if (skip < one.second) out.samples.insert(out.samples.end(), one.first + skip, one.first + one.second);
  const std::size_t skip_two = skip > one.second ? skip - one.second : 0;
  if (two.second > skip_two) out.samples.insert(out.samples.end(), two.first + skip_two, two.first + two.second);
}

std::uint64_t History::overwritten() const {
  const std::scoped_lock lock{mutex_};
  return overwritten_;
}

}  // namespace coldstroke::daq
