// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/recorder.hpp"

#include <chrono>
#include <iterator>
#include <utility>

namespace coldstroke::daq {
namespace {

constexpr auto kCommitPeriod = std::chrono::milliseconds{250};
constexpr std::size_t kCommitSoonBytes = 256UL * 1024UL;
constexpr std::size_t kQueueLimitBytes = 64UL * 1024UL * 1024UL;
constexpr std::size_t kRowOverheadBytes = 64;  // what a queued row costs beside its bytes, so that empty rows are bounded too

std::size_t size_of(const std::vector<RawRow>& rows, const std::vector<HostEvent>& events) {
  std::size_t bytes = (rows.size() + events.size()) * kRowOverheadBytes;
  for (const RawRow& row : rows) bytes += row.bytes.size();
  for (const HostEvent& event : events) bytes += event.kind.size() + event.text.size();
  return bytes;
}

template <class Item>
void move_behind(std::vector<Item>& all, std::vector<Item>&& more) {
  all.insert(all.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

tl::unexpected<Complaint> no_trial() { return complain("No trial is being recorded.", "recorder", "Begin a trial first."); }

}  // namespace

Recorder::Recorder(Campaign campaign) : campaign_{std::move(campaign)}, thread_{[this] { run(); }} {}

Recorder::~Recorder() {
  {
    const std::lock_guard lock{mutex_};
    stopping_ = true;
  }
  wake_.notify_all();
  thread_.join();
}

template <class Work>
auto Recorder::alone(Work&& work) {
  std::unique_lock lock{mutex_};
  done_.wait(lock, [this] { return !in_use_; });
  in_use_ = true;
  lock.unlock();
  auto result = work(campaign_);
  lock.lock();
  in_use_ = false;
  done_.notify_all();
  return result;
}

Result<std::int64_t> Recorder::begin_trial(const Setup& setup, bool virtual_rig, const std::string& origin) {
  auto number = alone([&](Campaign& campaign) { return campaign.begin_trial(setup, virtual_rig, origin); });
  if (number) {
    const std::lock_guard lock{mutex_};
    trial_ = *number;
    trouble_.reset();
    failing_ = false;
  }
  return number;
}

bool Recorder::append(std::vector<RawRow> rows, std::vector<HostEvent> events) {
  const std::size_t bytes = size_of(rows, events);
  bool soon = false;
  {
    const std::lock_guard lock{mutex_};
    if (trial_ == 0 || ending_ || queued_bytes_ + bytes > kQueueLimitBytes) return false;
    move_behind(rows_, std::move(rows));
    move_behind(events_, std::move(events));
    queued_bytes_ += bytes;
    ++queued_calls_;
    soon = queued_bytes_ >= kCommitSoonBytes;
  }
  if (soon) wake_.notify_one();
  return true;
}

Result<void> Recorder::flush() {
  std::unique_lock lock{mutex_};
  const std::uint64_t wanted = queued_calls_, failures = failures_;
  flush_wanted_ = true;
  wake_.notify_one();
  done_.wait(lock, [&] { return committed_calls_ >= wanted || failures_ != failures; });
  if (trouble_) return tl::unexpected{*trouble_};
  return {};
}

Result<void> Recorder::set_identity(Node node, const std::string& json) {
  std::int64_t trial = 0;
  {
    const std::lock_guard lock{mutex_};
    trial = trial_;
  }
  if (trial == 0) return no_trial();
  return alone([&](Campaign& campaign) { return campaign.set_identity(trial, node, json); });
}

Result<void> Recorder::end_trial(TrialStatus status) {
  std::int64_t trial = 0;
  {
    const std::lock_guard lock{mutex_};
    if (trial_ == 0) return no_trial();
    trial = trial_;
    ending_ = true;  // what comes from here on belongs to no trial
  }
  Result<void> ended = flush();
  std::unique_lock lock{mutex_};
  // An earlier commit may have failed and been made good since; then the record is whole and the trial ends as usual.
  if (committed_calls_ == queued_calls_) {
    lock.unlock();
    ended = alone([&](Campaign& campaign) { return campaign.end_trial(trial, status); });
    lock.lock();
    if (ended) ended_trial_ = std::exchange(trial_, 0);
  }
  ending_ = false;
  return ended;
}

Result<std::int64_t> Recorder::add_result(const std::string& verdict, const std::string& json) {
  std::int64_t trial = 0;
  {
    const std::lock_guard lock{mutex_};
    trial = trial_ != 0 ? trial_ : ended_trial_;
  }
  if (trial == 0) return no_trial();
  return alone([&](Campaign& campaign) { return campaign.add_result(trial, verdict, json); });
}

Result<void> Recorder::with_campaign(const std::function<Result<void>(Campaign&)>& work) {
  return alone([&](Campaign& campaign) { return work(campaign); });
}

std::optional<Complaint> Recorder::trouble() const {
  const std::lock_guard lock{mutex_};
  return trouble_;
}

std::size_t Recorder::queued_bytes() const {
  const std::lock_guard lock{mutex_};
  return queued_bytes_;
}

void Recorder::write_queue(std::unique_lock<std::mutex>& lock) {
  done_.wait(lock, [this] { return !in_use_; });
  std::vector<RawRow> rows = std::exchange(rows_, {});
  std::vector<HostEvent> events = std::exchange(events_, {});
  const std::uint64_t calls = queued_calls_;
  const std::int64_t trial = trial_;
  in_use_ = true;
  lock.unlock();
  const auto written = campaign_.append(trial, rows, events);
  const std::size_t bytes = size_of(rows, events);
  lock.lock();
  in_use_ = false;
  failing_ = !written;
  if (written) {
    committed_calls_ = calls;
    queued_bytes_ -= bytes;
  } else {
    ++failures_;
    if (!trouble_) trouble_ = written.error();
    // Back to the front of the queue: order is part of the record.
    move_behind(rows, std::exchange(rows_, {}));
    move_behind(events, std::exchange(events_, {}));
    rows_ = std::move(rows);
    events_ = std::move(events);
  }
  done_.notify_all();
}

void Recorder::run() {
  std::unique_lock lock{mutex_};
  while (true) {
    // While commits fail a full queue is no reason to hurry; the next try comes with the period or a flush.
    wake_.wait_for(lock, kCommitPeriod,
                   [this] { return stopping_ || flush_wanted_ || (queued_bytes_ >= kCommitSoonBytes && !failing_); });
    flush_wanted_ = false;
    if (committed_calls_ != queued_calls_) write_queue(lock);
    const bool left = committed_calls_ != queued_calls_;
    if (stopping_ && (!left || failing_)) return;
  }
}

}  // namespace coldstroke::daq
