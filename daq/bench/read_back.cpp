// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/bench/read_back.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>

namespace coldstroke::daq {

namespace {
constexpr std::chrono::milliseconds kSilence{500};  // nothing of what was asked for: ask again
constexpr int kAttempts = 8;
constexpr std::uint32_t kMostDecisions = 1024;
constexpr std::uint64_t kMostSamples = 10'000'000;  // a summary that claims more is damage or nonsense
}  // namespace

void ReadBack::begin(HostTime now, std::uint32_t record_id, double limit_seconds) {
  *this = ReadBack{};
  state_ = State::waiting_for_board;
  record_id_ = record_id;
  until_ = now + std::chrono::microseconds{std::llround(limit_seconds * 1.0e6)};
}

void ReadBack::give_up(std::string why) {
  state_ = State::given_up;
  sentence_ = std::move(why);
}

double ReadBack::progress() const {
  if (present_.empty()) return 0.0;
  return static_cast<double>(std::ranges::count(present_, true)) / static_cast<double>(present_.size());
}

void ReadBack::ask(BoardDialogue& board, HostTime now, const wire::MemoryRequest& request) {
  asked_ = request;
  board.send(request);
  ask_again_ = now + kSilence;
}

void ReadBack::tick(HostTime now, bool board_ready, BoardDialogue& board) {
  if (!active()) return;
  if (state_ == State::waiting_for_board) {
    if (board_ready) {
      state_ = State::reading;
      ask(board, now, {wire::MemoryPart::summary, 0, 0});
    } else if (now >= until_) {
      give_up("the flight board did not come back in time: its record was not read; import its own log if it keeps one");
    }
    return;
  }
  if (now < ask_again_) return;
  if (++attempts_ > kAttempts) {
    give_up("the flight board stopped answering while its record was read");
    return;
  }
  if (asked_.part == wire::MemoryPart::samples) {
    ask_next_hole(board, now);
  } else {
    ask(board, now, asked_);
  }
}

void ReadBack::ask_next_hole(BoardDialogue& board, HostTime now) {
  const auto runs = missing_runs(present_);
  if (runs.empty()) {
    state_ = State::done;
    sentence_ = "the flight board's record was read back: " + std::to_string(summary_.sample_count) + " samples, " +
                std::to_string(summary_.decision_count) + (summary_.decision_count == 1 ? " decision" : " decisions");
    return;
  }
  ask(board, now,
      {wire::MemoryPart::samples, summary_.first_index + runs.front().first,
       static_cast<std::uint32_t>(runs.front().last - runs.front().first)});
}

void ReadBack::receive(const wire::Message& message, BoardDialogue& board, HostTime now) {
  if (state_ != State::reading) return;
  if (const auto* summary = std::get_if<wire::MemorySummary>(&message)) {
    if (asked_.part != wire::MemoryPart::summary) return;
    if (summary->record_id != record_id_ || summary->sample_count > kMostSamples) {
      give_up("the flight board holds no record of this trial (it was reset, or recorded something else)");
      return;
    }
    if (!summary->frozen) {  // still writing: stop it, then ask again
      board.command(wire::CommandCode::end_record);
      ask(board, now, {wire::MemoryPart::summary, 0, 0});
      return;
    }
    summary_ = *summary;
    present_.assign(summary->sample_count, false);
    decisions_seen_.assign(std::min<std::uint32_t>(summary->decision_count, kMostDecisions), false);
    ask(board, now, {wire::MemoryPart::decisions, 0, summary->decision_count});
  } else if (const auto* decision = std::get_if<wire::MemoryDecision>(&message)) {
    if (decision->record_id == record_id_ && decision->index < decisions_seen_.size()) decisions_seen_[decision->index] = true;
  } else if (const auto* samples = std::get_if<wire::MemorySamples>(&message)) {
    if (samples->record_id != record_id_ || samples->block.channels == 0) return;
    const std::uint64_t first = samples->block.first_index - summary_.first_index;
    const std::size_t count = samples->block.counts.size() / samples->block.channels;
    for (std::size_t k = 0; k < count && first + k < present_.size(); ++k) present_[first + k] = true;
    ask_again_ = now + kSilence;
    attempts_ = 0;
  } else if (const auto* end = std::get_if<wire::MemoryEnd>(&message)) {
    if (end->record_id != record_id_ || end->part != asked_.part) return;
    if (++attempts_ > kAttempts) {
      give_up("part of the flight board's record could not be read: the line loses too much");
      return;
    }
    if (end->part == wire::MemoryPart::decisions && std::ranges::count(decisions_seen_, false) > 0) {
      ask(board, now, asked_);
    } else {
      ask_next_hole(board, now);
    }
  }
}

}  // namespace coldstroke::daq
