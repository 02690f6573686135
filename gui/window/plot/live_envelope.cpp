// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/plot/live_envelope.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace coldstroke::gui {

LiveEnvelope::LiveEnvelope(std::size_t samples_per_column, std::size_t columns)
    : samples_per_column_{samples_per_column}, columns_{columns} {
  assert(samples_per_column > 0 && columns > 0);
}

bool LiveEnvelope::follow(const daq::History& history) {
  history.copy_since(next_sample_, generation_, copy_);
  if (copy_.samples.empty() && !copy_.restarted) return false;
  take(copy_);
  return true;
}

void LiveEnvelope::restart(std::uint64_t number) {
  columns_.clear();
  first_column_ = number / samples_per_column_;
}

void LiveEnvelope::put(std::uint64_t number, double sample) {
  const std::uint64_t column = number / samples_per_column_;
  if (column >= first_column_ + columns_.size() + columns_.capacity()) restart(number);  // nothing of the old is left in view
  while (first_column_ + columns_.size() <= column) {
    if (columns_.full()) ++first_column_;
    columns_.push_back(Column{});
  }
  if (std::isnan(sample) || column < first_column_) return;
  Column& into = columns_[static_cast<std::size_t>(column - first_column_)];
  if (into.empty()) {
    into = {sample, sample};
  } else {
    into.low = std::min(into.low, sample);
    into.high = std::max(into.high, sample);
  }
}

void LiveEnvelope::take(const daq::History::Copy& copy) {
  if (copy.restarted || columns_.empty()) restart(copy.first_index);
  std::uint64_t number = copy.first_index;
  for (const double sample : copy.samples) put(number++, sample);
  next_sample_ = number;
  newest_seconds_ = copy.newest_seconds;
}

Column LiveEnvelope::extent() const {
  Column all;
  for (const Column& column : columns_) {
    if (column.empty()) continue;
    all = all.empty() ? column : Column{std::min(all.low, column.low), std::max(all.high, column.high)};
  }
  return all;
}

}  // namespace coldstroke::gui
