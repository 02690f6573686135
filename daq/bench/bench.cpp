// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/bench/bench.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <utility>

#include "daq/sequence/events.hpp"

namespace coldstroke::daq {

namespace {

using std::chrono::milliseconds;

/// A program that did not run for this long (as long as the board's watchdog waits) has lost touch: what was asked before is
/// stale.
constexpr double kStoodStillSeconds = 0.25;
/// For this long after it a person must ask again.
constexpr milliseconds kAskAgain{1000};
constexpr std::size_t kRowsHandedAt = 64 * 1024;
/// What was said to people waits no longer than this before the recorder has it, which commits every 250 ms.
constexpr milliseconds kHandOverEvery{50};

}  // namespace

Bench::Bench(Options options, Recorder& recorder)
    : options_{std::move(options)},
      recorder_{recorder},
      live_{options_.setup},
      setup_target_pascals_{options_.setup.charge.target_pascals},
      next_trial_{options_.first_trial} {}

void Bench::port_opened(Node node, HostTime now) {
  now_ = now;
  side(node).port_trouble.clear();
  open_session(node, now);
  keep(now, "link", std::string{word(node)} + ": port open");
}

void Bench::open_session(Node node, HostTime now) {
  BoardSide& board = side(node);
  // drawn afresh at each opening, so that an answer that lay in the line from before is known to be stale
  const std::uint32_t session = (options_.session_seed * 2654435761U) ^ (++sessions_ * 40503U) ^ static_cast<std::uint32_t>(node);
  board.session.opened(session == 0 ? 1 : session);
  board.dialogue.opened(now, session == 0 ? 1 : session);
}

void Bench::port_lost(Node node, HostTime now, const std::string& why) {
  now_ = now;
  BoardSide& board = side(node);
  board.port_trouble = why;
  board.session.closed();
  board.dialogue.closed();
  keep(now, "link", why);
}

void Bench::receive(Node node, HostTime arrival, std::span<const std::byte> bytes) {
  now_ = std::max(now_, arrival);
  if (recording_trial_) {  // kept exactly as received, before anything interprets it
    rows_.push_back({node, Direction::from_board, us_of(arrival), {bytes.begin(), bytes.end()}});
    rows_bytes_ += bytes.size();
  }
  for (const wire::Message& message : side(node).session.receive(arrival, bytes)) hear(node, message, arrival);
}

void Bench::hear(Node node, const wire::Message& message, HostTime now) {
  if (const auto* block = std::get_if<wire::SampleBlock>(&message)) {
    live_.receive(node, *block, side(node).session.stream(block->stream), now);
    return;
  }
  follow_restart(node, message, now);
  if (const auto* line = std::get_if<wire::LogLine>(&message)) note_line(now, std::string{word(node)} + ": " + line->text);
  if (node == Node::rig) {
    hear_rig(message, now);
  } else {
    read_back_.receive(message, side(Node::flight).dialogue, now);
    if (const auto* event = std::get_if<wire::Event>(&message);
        event != nullptr && event->code == wire::EventCode::detector_decided)
      note_line(now, "the detector decided");
  }
}

/// A board that was reset knows no Hello any more and refuses every command but vent until it hears one.
void Bench::follow_restart(Node node, const wire::Message& message, HostTime now) {
  std::optional<std::uint32_t> boot;
  if (const auto* rig = std::get_if<wire::RigState>(&message)) boot = rig->boot_count;
  if (const auto* flight = std::get_if<wire::FlightState>(&message)) boot = flight->reset_count;
  if (!boot) return;
  BoardSide& board = side(node);
  if (board.boot_count && *board.boot_count != *boot) {
    keep(now, "board", std::string{"the "} + word(node) + " was reset");
    open_session(node, now);
    board.restarted_in_trial = recording_trial_;
  }
  board.boot_count = boot;
}

void Bench::hear_rig(const wire::Message& message, HostTime now) {
  if (const auto* grant = std::get_if<wire::TokenGrant>(&message)) use_token(*grant, now);
  if (const auto* event = std::get_if<wire::Event>(&message)) hear_rig_event(*event, now);
  if (const auto* state = std::get_if<wire::RigState>(&message)) {
    if (step_ == Step::charging && state->step != wire::RigStep::vented) rig_held_gas_ = true;
    follow_lid(*state, now);
    const auto came = static_cast<std::uint16_t>(state->faults & ~faults_seen_);  // its event may have been lost with the link
    faults_seen_ = state->faults;
    if (came != 0) keep(now, "board", "the rig board reports: " + fault_words(came));
  }
  if (const auto* answer = std::get_if<wire::Acknowledgement>(&message)) {
    if (answer->reason == wire::Reason::done) return;
    const bool ours = answer->id == gas_command_ || (token_until_ && answer->id == token_request_);
    if (ours) gas_refused_ = true;
    keep(now, "refused",
         "the rig board refused command " + std::to_string(static_cast<int>(answer->code)) + ", reason " +
             std::to_string(static_cast<int>(answer->reason)));
  }
}

/// The last look before gas moves: a token is spent only while every interlock of the step it serves holds at this instant.
void Bench::use_token(const wire::TokenGrant& grant, HostTime now) {
  if (!token_until_ || grant.id != token_request_ || grant.purpose != token_purpose_) return;  // late or not ours
  if (stood_still(now)) {
    token_until_.reset();
    gas_refused_ = true;
    keep(now, "refused", "the token is not used: the program stood still while it was on its way");
    return;
  }
  token_until_.reset();
  const bool release = token_purpose_ == wire::CommandCode::release;
  const InterlockList needed = interlocks_to_enter(step_, readings(now), options_.setup);
  if (const Interlock* open = needed.first_open()) {
    gas_refused_ = true;
    keep(now, "refused", "the token is not used: " + open->name + " reads " + open->reading + ", must be " + open->limit);
    return;
  }
  const auto open_us = static_cast<std::uint32_t>(std::lround(options_.setup.sequence.open_seconds * 1.0e6));
  gas_command_ = side(Node::rig).dialogue.command(token_purpose_, release ? open_us : 0, grant.token);
  if (release) live_.watch_motion();
}

void Bench::hear_rig_event(const wire::Event& event, HostTime now) {
  using enum wire::EventCode;
  switch (event.code) {
    case vented_by_watchdog:
      return keep(now, "board", "the rig board vented by itself: the host's heartbeat was lost");
    case vented_by_over_pressure:
      return keep(now, "board", "the rig board vented by itself: over-pressure");
    case vented_by_stop_loop:
      return keep(now, "board", "the rig board vented by itself: emergency-stop loop open");
    case vented_by_supply:
      return keep(now, "board", "the rig board vented by itself: electrical supply low");
    case vented_by_readback:
      return keep(now, "board", "the rig board vented by itself: a valve did not follow");
    case charge_opened:
      return note_line(now, "charge valve open");
    case charge_shut:
      return note_line(now, "charge valve shut");
    case vent_opened:
      return note_line(now, "vent open");
    case vent_shut:
      return note_line(now, "vent shut");
    case fast_valves_opened:
      return keep(now, "board", "fast valves opened");
    case fast_valves_shut:
      return note_line(now, "fast valves shut");
    case lid_commanded:
      lid_shutting_since_us_.reset();
      if (event.argument == 0) lid_shutting_since_us_ = event.node_time_us;
      return note_line(now, event.argument == 0 ? "lid commanded shut" : "lid commanded open");
    default:
      return;
  }
}

/// The lid's closing time, from the board's own times of command and switch.
void Bench::follow_lid(const wire::RigState& state, HostTime now) {
  const bool shut = (state.inputs & wire::kLidShutSwitch) != 0 && (state.inputs & wire::kLidOpenSwitch) == 0;
  if (!lid_shutting_since_us_ || !shut || state.node_time_us < *lid_shutting_since_us_) return;
  lid_closing_seconds_ = static_cast<double>(state.node_time_us - *lid_shutting_since_us_) * 1.0e-6;
  lid_shutting_since_us_.reset();
  std::array<char, 64> line{};
  std::snprintf(line.data(), line.size(), "lid shut %.2f s after its command", *lid_closing_seconds_);
  keep(now, "lid", line.data());
}

bool Bench::stood_still(HostTime now) const {
  return now < ask_again_after_ || (ticked_ && seconds_between(*ticked_, now) > kStoodStillSeconds);
}

void Bench::tick(HostTime now) {
  now_ = std::max(now_, now);
  if (ticked_ && seconds_between(*ticked_, now) > kStoodStillSeconds) {
    ask_again_after_ = now + kAskAgain;
    note_line(now, "the program stood still for a while: a charge or a count must be asked for again");
    if (token_until_) gas_refused_ = true;
  }
  ticked_ = now;
  for (BoardSide& board : sides_) board.dialogue.tick(now, board.session.compatible());
  if (recording_trial_) {
    for (const Node node : {Node::rig, Node::flight}) {
      const std::string identity = side(node).session.identity_json();
      std::string& stored = identity_stored_[static_cast<std::size_t>(node)];
      if (!side(node).session.compatible() || identity == stored) continue;
      stored = identity;
      if (const auto kept = recorder_.set_identity(node, identity); !kept) archive_trouble_ = kept.error().what;
    }
  }
  look(now);
  keep_commanded(now);
  const Readings r = readings(now);
  const bool board_ready = r.flight_compatible && r.flight_age <= options_.setup.link_fresh_seconds;
  const bool was_active = read_back_.active();
  read_back_.tick(now, board_ready, side(Node::flight).dialogue);
  if (judging_ && !read_back_.active() && !to_judge_ && recording_trial_) {
    if (was_active || !read_back_.sentence().empty()) keep(now, "read-back", read_back_.sentence());
    hand_over();
    end_trial(TrialStatus::recorded, "", "");
  }
  if (rows_bytes_ >= kRowsHandedAt || now >= hand_over_again_) {
    hand_over_again_ = now + kHandOverEvery;
    hand_over();
  }
}

void Bench::look(HostTime now) {
  const Readings before = readings(now);
  follow_pressure(before, now);
  if (token_until_ && now >= *token_until_) {  // no token came
    token_until_.reset();
    if (token_purpose_ == wire::CommandCode::release) {
      gas_refused_ = true;  // never asked for twice
    } else if (step_ == Step::charging) {
      seek_token(wire::CommandCode::charge, now);
    }
  }
  if (const auto event = event_in(step_, readings(now), options_.setup)) handle(*event, now);
}

void Bench::request(OperatorRequest request, HostTime now) {
  now_ = std::max(now_, now);
  using enum SequenceEvent;
  if ((request == OperatorRequest::charge || request == OperatorRequest::count) && stood_still(now)) {
    keep(now, "refused", "not taken: the program stood still for a while, and what was asked before that is stale; ask again");
    return;
  }
  switch (request) {
    case OperatorRequest::none:
      return;
    case OperatorRequest::begin:
      handle(begin_requested, now);
      return;
    case OperatorRequest::charge:
      handle(charge_requested, now);
      return;
    case OperatorRequest::count:
      handle(count_requested, now);
      return;
    case OperatorRequest::abort:
      if (read_back_.active()) read_back_.give_up("reading the flight board's record was stopped by the operator");
      handle(abort_requested, now);
      return;
    case OperatorRequest::acknowledge:
      handle(acknowledged, now);
      return;
    case OperatorRequest::sign_virtual_rig:
      sign_virtual_rig(now);
      return;
  }
}

bool Bench::handle(SequenceEvent event, HostTime now) {
  const Readings r = readings(now);
  const auto guard = [&](Step to) {
    const InterlockList needed = interlocks_to_enter(to, r, options_.setup);
    const Interlock* open = needed.first_open();
    if (open != nullptr)
      keep(now, "refused",
           "not " + std::string{word(to)} + ": " + open->name + " reads " + open->reading + ", must be " + open->limit);
    return open == nullptr;
  };
  const Row* row = answer(sequence_table(), step_, event, guard);
  if (row == nullptr) {
    if (transition(step_, event) == nullptr)
      keep(now, "refused", std::string{"'"} + word(event) + "' means nothing in step '" + word(step_) + "'");
    return false;
  }
  std::string text =
      std::string{word(step_)} + " -> " + word(row->to) + ": " + word(event) + " (" + std::string{row->meaning} + ")";
  if (event == SequenceEvent::interlock_lost) {
    const InterlockList held = interlocks_while(step_, r, options_.setup);
    if (const Interlock* open = held.first_open())
      text += "; " + open->name + " reads " + open->reading + ", must be " + open->limit;
  }
  if (event == SequenceEvent::abort_requested) {
    const InterlockList blocking = shown_interlocks(r);  // what a person gave up waiting for
    if (const Interlock* open = blocking.first_open())
      text += "; " + open->name + " reads " + open->reading + ", must be " + open->limit;
  }
  if (event == SequenceEvent::live_channel_found) text += "; " + firing_sentence(r, options_.setup);
  const bool stops =
      std::ranges::any_of(row->actions, [](Action a) { return a == Action::mark_aborted || a == Action::mark_hang; });
  const bool first_stop = stops && !aborted_;  // the first cause counts; what follows from it does not
  if (first_stop) stop_reason_ = text;
  keep(now, first_stop ? "stopped" : "step", text);
  const bool entering = row->to != step_;
  if (entering) enter(row->to, now);
  for (const Action action : row->actions) perform(action, now);
  if (entering && step_ == Step::review && aborted_ && recording_trial_) {
    hand_over();
    end_trial(TrialStatus::aborted, "aborted", stop_reason_);
  }
  return true;
}

std::vector<std::byte> Bench::take_output(Node node, HostTime now) {
  std::vector<std::byte> bytes = side(node).dialogue.take_output();
  if (recording_trial_ && !bytes.empty()) {
    rows_.push_back({node, Direction::to_board, us_of(now), bytes});
    rows_bytes_ += bytes.size();
  }
  return bytes;
}

bool Bench::at_rest() const { return (step_ == Step::idle || step_ == Step::review) && !judging_ && low_since_.has_value(); }

}  // namespace coldstroke::daq
