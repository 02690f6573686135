// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <condition_variable>
#include <cstdint>
#include <deque>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "daq/record/campaign.hpp"

namespace coldstroke::daq {

/// Writes the running trial to the campaign on a thread of its own, so that a slow disk never holds up a port.
/// Rows are queued and committed every 250 ms, or sooner when 256 kB wait. The queue is bounded (64 MB): when the disk
/// cannot follow, `append` blocks no one; it reports `overrun`, which the bench treats as "archive not writable".
/// Owns the Campaign while it lives; other readers open the file themselves (WAL lets them).
class Recorder {
 public:
  explicit Recorder(Campaign campaign);
  ~Recorder();  ///< writes what waits, then stops
  Recorder(const Recorder&) = delete;
  Recorder& operator=(const Recorder&) = delete;

  /// Synchronous: the trial exists on disk when this returns.
  Result<std::int64_t> begin_trial(const Setup& setup, bool virtual_rig, const std::string& origin);
  /// Queues; never waits for the disk. Returns false if the queue is full (nothing of this call was taken).
  [[nodiscard]] bool append(std::vector<RawRow> rows, std::vector<HostEvent> events);
  /// Waits until everything queued so far is committed; the first complaint since begin_trial if there was one.
  Result<void> flush();
  Result<void> set_identity(Node node, const std::string& json);
  Result<void> end_trial(TrialStatus status);  ///< flushes first
  Result<std::int64_t> add_result(const std::string& verdict, const std::string& json);
  [[nodiscard]] std::optional<Complaint> trouble() const;  ///< first failed commit since begin_trial, if any
  [[nodiscard]] std::size_t queued_bytes() const;

 private:
  struct Work;
  void run();
  Campaign campaign_;
  std::int64_t trial_ = 0;
  mutable std::mutex mutex_;
  std::condition_variable wake_, done_;
  std::vector<RawRow> rows_;
  std::vector<HostEvent> events_;
  std::size_t queued_bytes_ = 0;
  bool writing_ = false, stopping_ = false;
  std::optional<Complaint> trouble_;
  std::thread thread_;
};

}  // namespace coldstroke::daq
