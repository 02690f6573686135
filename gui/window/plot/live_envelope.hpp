// SPDX-License-Identifier: GPL-3.0-or-later
//
// The newest seconds of one channel as columns of smallest and largest value, kept up to date from a History.
//
// Columns are anchored on absolute sample numbers: column c holds samples [c * n, (c + 1) * n). So a column, once full, never
// changes while it moves over the screen, a peak does not flicker, and each new sample is looked at once.
#pragma once

#include <boost/circular_buffer.hpp>
#include <cstddef>
#include <cstdint>

#include "daq/stream/history.hpp"
#include "gui/report/trace_columns.hpp"

namespace coldstroke::gui {

class LiveEnvelope {
 public:
  /// `samples_per_column` and `columns` > 0.
  LiveEnvelope(std::size_t samples_per_column, std::size_t columns);

  /// Takes in everything new. Returns whether anything was.
  bool follow(const daq::History& history);
  /// As follow, from a copy: samples[k] has number first_index + k. NaN: lost, breaks the line.
  void take(const daq::History::Copy& copy);

  /// Oldest first; the last may still be filling. Empty ones: nothing there or lost.
  [[nodiscard]] const boost::circular_buffer<Column>& columns() const { return columns_; }
  /// Number of the first sample of columns()[0].
  [[nodiscard]] std::uint64_t first_sample() const { return first_column_ * samples_per_column_; }
  /// One past the newest sample taken.
  [[nodiscard]] std::uint64_t next_sample() const { return next_sample_; }
  [[nodiscard]] std::size_t samples_per_column() const { return samples_per_column_; }
  /// Bench time of the newest sample.
  [[nodiscard]] double newest_seconds() const { return newest_seconds_; }
  /// Smallest and largest of all columns; empty if there is none.
  [[nodiscard]] Column extent() const;

 private:
  void put(std::uint64_t number, double sample);
  void restart(std::uint64_t number);
  std::size_t samples_per_column_;
  boost::circular_buffer<Column> columns_;
  std::uint64_t first_column_ = 0, next_sample_ = 0, generation_ = 0;
  double newest_seconds_ = 0.0;
  daq::History::Copy copy_;
};

}  // namespace coldstroke::gui
