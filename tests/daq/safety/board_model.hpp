// SPDX-License-Identifier: GPL-3.0-or-later
//
// The rig board as far as gas goes: what protocol/board/rig_board.c does, in as many states as matter.
#pragma once

#include <cstdint>

namespace coldstroke::daq {

struct BoardModel {
  enum class State : std::uint8_t { vented, charging, holding, released_open, released_shut } state = State::vented;
  enum class Token : std::uint8_t { none, charge, release } token = Token::none;
  bool fault = false;
  bool operator==(const BoardModel&) const = default;

  [[nodiscard]] bool charge_valve_open() const { return state == State::charging; }
  [[nodiscard]] bool fast_valves_open() const { return state == State::released_open; }
  [[nodiscard]] bool vent_open() const { return state == State::vented; }

  /// What the board senses at this instant.
  struct Senses {
    bool stop_loop_closed = true, key_in = true, heartbeat = true, over_pressure = false;
    [[nodiscard]] bool good() const { return stop_loop_closed && heartbeat && !over_pressure; }
  };

  void vent() {
    state = State::vented;
    token = Token::none;
  }
  void ask_token(Token purpose) { token = purpose; }
  /// True if the charge valve opens. The token is burnt either way.
  bool charge(const Senses& senses) {
    const bool live = token == Token::charge;
    token = Token::none;
    if (!live || fault || !senses.good()) return false;
    if (state != State::vented && state != State::holding) return false;
    state = State::charging;
    return true;
  }
  /// True if the fast valves open.
  bool release(const Senses& senses) {
    const bool live = token == Token::release;
    token = Token::none;
    if (!live || fault || !senses.good() || !senses.key_in || state != State::holding) return false;
    state = State::released_open;
    return true;
  }
  void stop_charge() {
    if (state != State::charging && state != State::holding) return;
    if (token == Token::charge) token = Token::none;
    state = State::holding;
  }
  /// The board's own protection: whatever it senses bad while it holds gas makes it vent and latch a fault.
  void supervise(const Senses& senses) {
    if (state == State::vented || senses.good()) return;
    fault = true;
    vent();
  }
  void open_time_over() {
    if (state == State::released_open) state = State::released_shut;
  }
  void token_expires() { token = Token::none; }
  void clear_faults(const Senses& senses) {
    if (senses.good()) fault = false;
  }
};

}  // namespace coldstroke::daq
