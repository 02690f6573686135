// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string>

#include "daq/bench/board_dialogue.hpp"
#include "daq/record/stream_collector.hpp"

namespace coldstroke::daq {

/// Reads the flight board's trial memory after the cable is back: summary, decisions, then samples, asking again for what the
/// line lost. The frames themselves go to the raw record; this only conducts the dialogue.
class ReadBack {
 public:
  enum class State { idle, waiting_for_board, reading, done, given_up };

  void begin(HostTime now, std::uint32_t record_id, double limit_seconds);
  void cancel() { state_ = State::idle; }
  void give_up(std::string why);
  /// Call with every message of the flight board while active.
  void receive(const wire::Message& message, BoardDialogue& board, HostTime now);
  void tick(HostTime now, bool board_ready, BoardDialogue& board);

  [[nodiscard]] State state() const { return state_; }
  [[nodiscard]] bool active() const { return state_ == State::waiting_for_board || state_ == State::reading; }
  /// What came of it, one sentence.
  [[nodiscard]] const std::string& sentence() const { return sentence_; }
  /// 0..1 while reading samples.
  [[nodiscard]] double progress() const;

 private:
  void ask(BoardDialogue& board, HostTime now, const wire::MemoryRequest& request);
  void ask_next_hole(BoardDialogue& board, HostTime now);
  State state_ = State::idle;
  std::uint32_t record_id_ = 0;
  HostTime until_{}, ask_again_{};
  int attempts_ = 0;
  wire::MemoryRequest asked_;
  wire::MemorySummary summary_;
  std::vector<bool> present_;         ///< one a sample of the record
  std::vector<bool> decisions_seen_;  ///< one a decision of the record
  std::string sentence_;
};

}  // namespace coldstroke::daq
