// SPDX-License-Identifier: GPL-3.0-or-later
//
// A serial line in bench time: bytes take their time at the baud rate, arrive late by a scattered latency, in order, and may meet
// trouble on the way.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <functional>
#include <span>
#include <vector>

#include "daq/virtual_rig/random.hpp"
#include "daq/virtual_rig/scenario.hpp"
#include "protocol/board/node.h"

namespace coldstroke::daq {

/// Bytes as they come out of a line, with the bench time of their arrival.
struct StampedBytes {
  std::int64_t arrival_us = 0;
  std::vector<std::byte> bytes;
  bool operator==(const StampedBytes&) const = default;
};

/// Faults of one direction of one line in force now.
struct LineFaults {
  bool dead = false;  ///< no byte passes
  double lost_frame_probability = 0.0, flip_probability = 0.0;
  double bursts_per_second = 0.0, burst_bytes = 0.0;
  bool newer_major = false;  ///< identity frames name a newer major version
  bool operator==(const LineFaults&) const = default;
};

/// Board to host.
class LineToHost {
 public:
  LineToHost(double baud, const Scenario::Line& latency, std::uint64_t seed, std::uint64_t purpose);
  void set_faults(const LineFaults& faults) { faults_ = faults; }
  /// Sends what waits in the board's ring and had time to leave by `now_ns`. Call often: at least every 100 us.
  void pump(cs_line& ring, std::int64_t now_ns);
  /// What has arrived by `now_us`.
  [[nodiscard]] std::vector<StampedBytes> take(std::int64_t now_us);

 private:
  void send(std::span<const std::uint8_t> bytes, std::int64_t left_ns, std::int64_t now_ns);
  [[nodiscard]] std::vector<std::uint8_t> with_trouble(std::span<const std::uint8_t> bytes);
  void end_frame();

  double byte_ns_;
  Scenario::Line latency_;
  double way_seconds_;
  Random random_, trouble_;
  LineFaults faults_;
  double line_ns_ = 0.0;  ///< the line is free from here
  double bursts_due_ = 0.0;
  std::int64_t pumped_ns_ = 0, last_arrival_ns_ = 0;
  std::vector<std::uint8_t> gathered_;  ///< left the board, not yet handed on
  std::int64_t gathered_since_ns_ = 0;
  bool losing_ = false;                       ///< the frame now passing is lost
  std::vector<std::uint8_t> frame_, passed_;  ///< the frame now passing, when frames are looked into
  std::deque<StampedBytes> queue_;
};

/// Host to board.
class LineToBoard {
 public:
  struct Delivery {
    std::int64_t arrival_ns = 0;
    std::vector<std::uint8_t> bytes;
  };
  LineToBoard(double baud, const Scenario::Line& latency, std::uint64_t seed, std::uint64_t purpose);
  void set_faults(const LineFaults& faults) { faults_ = faults; }
  void send(std::span<const std::byte> bytes, std::int64_t now_ns);
  /// Arrival of the next bytes; a time never reached if there are none.
  [[nodiscard]] std::int64_t next_ns() const;
  [[nodiscard]] Delivery take();
  void drop_all() { queue_.clear(); }

 private:
  double byte_ns_;
  Scenario::Line latency_;
  double way_seconds_;
  Random random_, trouble_;
  LineFaults faults_;
  std::int64_t last_arrival_ns_ = 0;
  std::deque<Delivery> queue_;
};

}  // namespace coldstroke::daq
