// SPDX-License-Identifier: GPL-3.0-or-later
//
// The thread that carries a running trial to disk.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <functional>
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
///
/// A commit that fails is tried again with the next one, in the same order, so a disk that gets room again loses nothing.
class Recorder {
 public:
  explicit Recorder(Campaign campaign);
  ~Recorder();  ///< writes what waits, then stops; a trial not ended stays open and is found as interrupted
  Recorder(const Recorder&) = delete;
  Recorder& operator=(const Recorder&) = delete;

  /// Synchronous: the trial exists on disk when this returns.
  Result<std::int64_t> begin_trial(const Setup& setup, bool virtual_rig, const std::string& origin);
  /// Queues; never waits for the disk. Returns false if the queue is full or no trial is open (nothing of this call was taken).
  [[nodiscard]] bool append(std::vector<RawRow> rows, std::vector<HostEvent> events);
  /// Waits until everything queued so far is committed; the first complaint since begin_trial if there was one.
  Result<void> flush();
  Result<void> set_identity(Node node, const std::string& json);
  /// Commits what waits, then ends the trial. Complains, and leaves the trial open to try again, if something could not be
  /// written.
  Result<void> end_trial(TrialStatus status);
  /// Of the trial ended last.
  Result<std::int64_t> add_result(const std::string& verdict, const std::string& json);
  /// Anything else with the campaign (notes, attachments, results of older trials), between two commits of this recorder.
  Result<void> with_campaign(const std::function<Result<void>(Campaign&)>& work);
  [[nodiscard]] std::optional<Complaint> trouble() const;  ///< first failed commit since begin_trial, if any
  [[nodiscard]] std::size_t queued_bytes() const;

 private:
  void run();
  void write_queue(std::unique_lock<std::mutex>& lock);
  /// The campaign for this thread alone while `work` runs; the mutex is free meanwhile, so `append` does not wait.
  template <class Work>
  auto alone(Work&& work);

  Campaign campaign_;  // used by whoever set `in_use_`
  mutable std::mutex mutex_;
  std::condition_variable wake_, done_;
  std::int64_t trial_ = 0, ended_trial_ = 0;  ///< 0: none
  std::vector<RawRow> rows_;
  std::vector<HostEvent> events_;
  std::size_t queued_bytes_ = 0;  ///< of rows and events not yet committed
  std::uint64_t queued_calls_ = 0, committed_calls_ = 0, failures_ = 0;
  bool in_use_ = false, flush_wanted_ = false, ending_ = false, stopping_ = false, failing_ = false;
  std::optional<Complaint> trouble_;
  std::thread thread_;  // last: it uses all of the above
};

}  // namespace coldstroke::daq
