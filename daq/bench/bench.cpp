// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/bench/bench.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>

namespace coldstroke::daq {

namespace {

using std::chrono::milliseconds;

/// Longest time under pressure between charging and the count; seals creep and people tire.
constexpr double kHeldLimitSeconds = 300.0;
/// Token, release command and acknowledgement take their turn before a hang is counted.
constexpr double kReleaseDialogueSeconds = 1.0;
constexpr milliseconds kTokenWait{400};
constexpr milliseconds kSafeAgain{100};
/// The pressure has to stay below the limit for this long before it counts as proven low.
constexpr double kLowSeconds = 0.3;
/// Pressure is "found" or "comes back" above this multiple of the vented limit.
constexpr double kFoundFactor = 1.5;
constexpr std::size_t kRowsHandedAt = 64 * 1024;

HostTime after(HostTime now, double seconds) { return now + std::chrono::microseconds{std::llround(seconds * 1.0e6)}; }

}  // namespace

Bench::Bench(Options options, Recorder& recorder)
    : options_{std::move(options)}, recorder_{recorder}, live_{options_.setup}, next_trial_{options_.first_trial} {}

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
  BoardDialogue& rig = side(Node::rig).dialogue;
  if (const auto* grant = std::get_if<wire::TokenGrant>(&message)) {
    if (!token_until_ || grant->id != token_request_ || grant->purpose != token_purpose_) return;  // late or not ours
    token_until_.reset();
    const bool release = token_purpose_ == wire::CommandCode::release;
    const auto open_us = static_cast<std::uint32_t>(std::lround(options_.setup.sequence.open_seconds * 1.0e6));
    gas_command_ = rig.command(token_purpose_, release ? open_us : 0, grant->token);
    if (release) live_.watch_motion();
  } else if (const auto* answer = std::get_if<wire::Acknowledgement>(&message)) {
    if (answer->reason == wire::Reason::done) return;
    const bool ours = answer->id == gas_command_ || (token_until_ && answer->id == token_request_);
    if (ours && (answer->code == wire::CommandCode::release || token_purpose_ == wire::CommandCode::release))
      release_refused_ = true;
    keep(now, "refused",
         "the rig board refused command " + std::to_string(static_cast<int>(answer->code)) + ", reason " +
             std::to_string(static_cast<int>(answer->reason)));
  } else if (const auto* event = std::get_if<wire::Event>(&message)) {
    using enum wire::EventCode;
    switch (event->code) {
      case vented_by_watchdog:
        keep(now, "board", "the rig board vented by itself: the host's heartbeat was lost");
        break;
      case vented_by_over_pressure:
        keep(now, "board", "the rig board vented by itself: over-pressure");
        break;
      case vented_by_stop_loop:
        keep(now, "board", "the rig board vented by itself: emergency-stop loop open");
        break;
      case vented_by_supply:
        keep(now, "board", "the rig board vented by itself: electrical supply low");
        break;
      case charge_opened:
        note_line(now, "charge valve open");
        break;
      case charge_shut:
        note_line(now, "charge valve shut");
        break;
      case vent_opened:
        note_line(now, "vent open");
        break;
      case vent_shut:
        note_line(now, "vent shut");
        break;
      case fast_valves_opened:
        keep(now, "board", "fast valves opened");
        break;
      case fast_valves_shut:
        note_line(now, "fast valves shut");
        break;
      default:
        break;
    }
  }
}

void Bench::tick(HostTime now) {
  now_ = std::max(now_, now);
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
  keep_safe(now);
  const Readings r = readings(now);
  const bool board_ready = r.flight_compatible && r.flight_age <= options_.setup.link_fresh_seconds;
  const bool was_active = read_back_.active();
  read_back_.tick(now, board_ready, side(Node::flight).dialogue);
  if (judging_ && !read_back_.active() && !to_judge_ && recording_trial_) {
    if (was_active || !read_back_.sentence().empty()) keep(now, "read-back", read_back_.sentence());
    hand_over();
    end_trial(TrialStatus::recorded, "", "");
  }
  if (rows_bytes_ >= kRowsHandedAt || events_.size() > 16) hand_over();
}

void Bench::look(HostTime now) {
  const Readings r = readings(now);
  const bool slow = std::abs(r.pressure_slope) <= options_.setup.charge.steady_pascals_per_second;
  if (!slow || step_ == Step::charging) steady_since_.reset();
  if (slow && !steady_since_ && step_ != Step::charging) steady_since_ = now;
  const bool low = r.pressure_age <= options_.setup.link_fresh_seconds && !r.pressure_saturated &&
                   r.pressure_pascals < options_.setup.sequence.vented_below_pascals;
  if (!low) low_since_.reset();
  if (low && !low_since_) low_since_ = now;
  if (token_until_ && now >= *token_until_) {  // no token came
    token_until_.reset();
    if (token_purpose_ == wire::CommandCode::release) {
      release_refused_ = true;
    } else if (step_ == Step::charging) {
      seek_token(wire::CommandCode::charge, now);
    }
  }
  if (const auto event = event_due(r, now)) handle(*event, now);
}

std::optional<SequenceEvent> Bench::event_due(const Readings& r, HostTime now) const {
  using enum SequenceEvent;
  const auto answers = [this](SequenceEvent event) { return transition(step_, event) != nullptr; };
  const bool pressure_fresh = r.pressure_age <= options_.setup.link_fresh_seconds;
  if (answers(live_channel_found) && live_channel(r, options_.setup)) return live_channel_found;
  constexpr std::uint16_t kVentingFaults =
      wire::kFaultWatchdog | wire::kFaultOverPressure | wire::kFaultStopLoop | wire::kFaultSupply;
  if (answers(board_vented_itself) && step_ != Step::checks && (r.rig_faults & kVentingFaults) != 0) return board_vented_itself;
  if (answers(motion_seen) && live_.motion_seen()) return motion_seen;
  if (answers(interlock_lost) && !interlocks_while(step_, r, options_.setup).all_hold()) return interlock_lost;
  if (answers(release_refused) && release_refused_) return release_refused;
  if (answers(pressure_reached) && pressure_fresh && r.pressure_pascals >= options_.setup.charge.target_pascals)
    return pressure_reached;
  if (answers(pressure_low) && low_since_ && seconds_between(*low_since_, now) >= kLowSeconds) return pressure_low;
  if (answers(found_pressurised) && pressure_fresh &&
      r.pressure_pascals > kFoundFactor * options_.setup.sequence.vented_below_pascals)
    return found_pressurised;
  if (answers(deadline_passed) && deadline_ && now >= *deadline_) return deadline_passed;
  return std::nullopt;
}

void Bench::request(OperatorRequest request, HostTime now) {
  now_ = std::max(now_, now);
  using enum SequenceEvent;
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
  }
}

bool Bench::handle(SequenceEvent event, HostTime now) {
  const Row* row = transition(step_, event);
  if (row == nullptr) {
    keep(now, "refused", std::string{"'"} + word(event) + "' means nothing in step '" + word(step_) + "'");
    return false;
  }
  const Readings r = readings(now);
  if (row->guarded) {
    const InterlockList needed = interlocks_to_enter(row->to, r, options_.setup);
    if (const Interlock* open = needed.first_open()) {
      keep(now, "refused",
           "not " + std::string{word(row->to)} + ": " + open->name + " reads " + open->reading + ", must be " + open->limit);
      // a countdown that ends with an interlock open is over: it never waits for the interlock to come back
      return event == SequenceEvent::deadline_passed ? handle(SequenceEvent::abort_requested, now) : false;
    }
  }
  std::string text =
      std::string{word(step_)} + " -> " + word(row->to) + ": " + word(event) + " (" + std::string{row->meaning} + ")";
  if (event == SequenceEvent::interlock_lost) {
    const InterlockList held = interlocks_while(step_, r, options_.setup);
    if (const Interlock* open = held.first_open())
      text += "; " + open->name + " reads " + open->reading + ", must be " + open->limit;
  }
  if (event == SequenceEvent::live_channel_found) text += "; " + firing_sentence(r, options_.setup);
  const bool stops =
      std::ranges::any_of(row->actions, [](Action a) { return a == Action::mark_aborted || a == Action::mark_hang; });
  if (stops && !aborted_) stop_reason_ = text;  // the first cause counts; what follows from it does not
  keep(now, "step", text);
  const bool entering = row->to != step_;
  if (entering) enter(row->to, now);
  for (const Action action : row->actions) perform(action, now);
  if (entering && step_ == Step::review && aborted_ && recording_trial_) {
    hand_over();
    end_trial(TrialStatus::aborted, "aborted", stop_reason_);
  }
  return true;
}

void Bench::enter(Step step, HostTime now) {
  step_ = step;
  entered_ = now;
  deadline_.reset();
  release_refused_ = false;
  token_until_.reset();
  const Setup& s = options_.setup;
  switch (step) {
    case Step::charging:
      if (!held_since_) held_since_ = now;
      deadline_ = std::min(after(now, s.sequence.charge_limit_seconds), after(*held_since_, kHeldLimitSeconds));
      break;
    case Step::settling:
      deadline_ = after(*held_since_, kHeldLimitSeconds);
      break;
    case Step::counting:
      deadline_ = after(now, s.sequence.countdown_seconds);
      break;
    case Step::releasing:
      deadline_ = after(now, kReleaseDialogueSeconds + s.sequence.hang_seconds);
      break;
    case Step::recording:
      deadline_ = after(now, s.sequence.record_after_seconds);
      break;
    case Step::venting:
    case Step::aborting:
      low_since_.reset();
      deadline_ = after(now, s.sequence.vent_limit_seconds);
      break;
    case Step::keep_clear:
    case Step::locked_out:
      keep_clear_until_ = after(now, s.sequence.keep_clear_seconds);
      break;
    case Step::idle:
      keep_clear_until_.reset();
      held_since_.reset();
      live_.end_watch();
      stop_reason_.clear();
      break;
    default:
      break;
  }
}

void Bench::perform(Action action, HostTime now) {
  BoardDialogue& rig = side(Node::rig).dialogue;
  switch (action) {
    case Action::open_trial:
      open_trial(now);
      return;
    case Action::start_charge:
      want_safe_ = false;
      seek_token(wire::CommandCode::charge, now);
      return;
    case Action::stop_charge:
      rig.command(wire::CommandCode::stop_charge);
      return;
    case Action::start_release:
      seek_token(wire::CommandCode::release, now);
      return;
    case Action::make_safe:
      want_safe_ = true;
      rig.command(wire::CommandCode::vent);
      safe_again_ = now + kSafeAgain;
      return;
    case Action::mark_aborted:
      aborted_ = true;
      return;
    case Action::mark_hang:
      hung_ = aborted_ = true;
      return;
    case Action::judge:
      start_judging(now);
      return;
    case Action::close_trial:
      if (recording_trial_) end_trial(aborted_ ? TrialStatus::aborted : TrialStatus::recorded, "aborted", stop_reason_);
      if (const auto& state = side(Node::rig).session.rig_state(); state && state->faults != 0)
        rig.command(wire::CommandCode::clear_faults);
      trial_ = 0;
      return;
    case Action::alarm:
      keep(now, "alarm", "KEEP CLEAR: " + (stop_reason_.empty() ? std::string{"the pressure does not come down"} : stop_reason_));
      return;
  }
}

void Bench::seek_token(wire::CommandCode purpose, HostTime now) {
  token_purpose_ = purpose;
  token_request_ = side(Node::rig).dialogue.command(wire::CommandCode::request_token, static_cast<std::uint32_t>(purpose));
  token_until_ = now + kTokenWait;
}

void Bench::keep_safe(HostTime now) {
  if (!want_safe_ || now < safe_again_) return;
  safe_again_ = now + kSafeAgain;
  constexpr std::uint16_t kValves = wire::kChargeValve | wire::kVentValve | wire::kFastValve1 | wire::kFastValve2;
  const auto& state = side(Node::rig).session.rig_state();
  if (!state || (state->outputs & kValves) != wire::kVentValve || (state->readback & kValves) != wire::kVentValve)
    side(Node::rig).dialogue.command(wire::CommandCode::vent);
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
