// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <boost/circular_buffer.hpp>
#include <cstddef>
#include <cstdint>
#include <mutex>
#include <span>
#include <vector>

namespace coldstroke::daq {

/// The newest seconds of one channel, SI, for live screens. One writer, any number of readers.
///
/// The writer never waits: when a reader happens to hold the lock, the block stays in the writer's own queue and is put in
/// with the next one. Readers copy out; they never see the container. Sample k stands at
/// `first_seconds + (k - first_index) * period_seconds` of the last copy, bench clock.
class History {
 public:
  /// `capacity` samples, > 0; `period_seconds` > 0.
  History(std::size_t capacity, double period_seconds);

  /// Writer only. `index` is the stream's own sample index of samples[0]; a gap before it is filled with NaN so that the line
  /// breaks. `seconds` is the bench time of samples[0].
  void append(std::uint64_t index, double seconds, std::span<const double> samples);
  /// Writer only: forget everything (a board restarted its count).
  void clear();

  struct Copy {
    std::uint64_t first_index = 0;  ///< of samples[0]
    double newest_seconds = 0.0;    ///< bench time of the last sample
    std::vector<double> samples;    ///< NaN where samples were lost
    std::uint64_t skipped = 0;      ///< asked for but already overwritten
    bool restarted = false;         ///< the count began anew since `index`
  };
  /// Reader: everything from sample index `index` on; samples is emptied first. `generation` is the reader's own, start with 0.
  void copy_since(std::uint64_t index, std::uint64_t& generation, Copy& out) const;

  [[nodiscard]] double period_seconds() const { return period_seconds_; }
  [[nodiscard]] std::size_t capacity() const { return capacity_; }
  /// Samples that fell out of the ring since the start, and blocks that had to wait for a reader.
  [[nodiscard]] std::uint64_t overwritten() const;

 private:
  struct Block {
    std::uint64_t index;
    double seconds;
    bool clear;
    std::vector<double> samples;
  };
  void put(const Block& block);
  const std::size_t capacity_;
  const double period_seconds_;
  std::vector<Block> waiting_;  // writer's own
  mutable std::mutex mutex_;    // guards what follows
  boost::circular_buffer<double> ring_;
  std::uint64_t next_index_ = 0, generation_ = 1, overwritten_ = 0;
  double newest_seconds_ = 0.0;
};

}  // namespace coldstroke::daq
