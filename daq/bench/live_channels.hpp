// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <vector>

#include "daq/sequence/readings.hpp"
#include "daq/setup/setup.hpp"
#include "daq/stream/clock.hpp"
#include "daq/stream/history.hpp"
#include "daq/stream/node_session.hpp"

namespace coldstroke::daq {

/// Newest values of every channel of the setup, scaled to SI through the calibration in force, with ages; histories for screens;
/// pressure slope for the interlocks; and whether the vehicle has moved since the release command.
class LiveChannels {
 public:
  explicit LiveChannels(const Setup& setup);

  /// A sample block of `node` that arrived at `now`; `streams` tells its period.
  void receive(Node node, const wire::SampleBlock& block, const wire::StreamDescription* stream, HostTime now);

  struct Newest {
    double value = 0.0;
    HostTime time{};
    bool saturated = false;
  };
  [[nodiscard]] const std::vector<std::optional<Newest>>& newest() const { return newest_; }  ///< in setup order
  [[nodiscard]] std::optional<Newest> newest(analysis::Role role) const;
  [[nodiscard]] std::shared_ptr<const History> history(std::size_t channel) const { return histories_[channel]; }

  /// Every channel over the last half second that it spoke, in setup order.
  [[nodiscard]] std::vector<ChannelHealth> health(HostTime now) const;
  /// Largest absolute reading of this role over the last 50 ms; absent if there is no such channel or nothing came.
  [[nodiscard]] std::optional<double> largest(analysis::Role role) const;
  /// Slope of the supply pressure over the last half second, Pa/s; absent until there is half a second of it.
  [[nodiscard]] std::optional<double> pressure_slope() const;
  /// Mean supply pressure over the last 50 ms, Pa gauge: what the interlocks judge. Absent if none came.
  [[nodiscard]] std::optional<double> pressure() const;

  /// From now on watch for motion against the present mean force (or acceleration).
  void watch_motion();
  /// The stroke is over: learn the resting values again.
  void end_watch();
  [[nodiscard]] bool motion_seen() const;

 private:
  struct Witness;
  void watch(Witness& witness, double value) const;
  const Setup& setup_;
  std::vector<std::shared_ptr<History>> histories_;
  std::vector<std::optional<Newest>> newest_;
  std::vector<std::uint64_t> newest_index_;  // of the newest block's first sample
  /// What a twentieth of a second of one channel came to. Ten of them are kept.
  struct Bin {
    double begin_seconds = 0.0;                                  // node time
    double sum = 0.0, sum_squares = 0.0, low = 0.0, high = 0.0;  // about the channel's first value, so that squares stay exact
    std::size_t count = 0;
    bool clipped = false;
  };
  struct Watch {
    double about = 0.0;
    std::deque<Bin> bins;
  };
  void keep_watch(Watch& watch, double seconds, const std::vector<double>& values, bool clipped);
  std::vector<Watch> watches_;  // in setup order
  struct Point {
    double seconds, pascals;  // mean over a block, node time
  };
  std::deque<Point> pressure_points_;
  /// Force and acceleration: either one shows that the vehicle moves, so that a dead sensor does not look like a hang.
  struct Witness {
    analysis::Role role;
    double threshold = 0.0;
    double rest_mean = 0.0;  // slow mean while not watching
    bool rest_known = false, moved = false;
  };
  std::vector<Witness> witnesses_;
  bool watching_ = false;
};

}  // namespace coldstroke::daq
