// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the bench does: entering a step arms its one deadline, an action becomes commands. Nothing here decides whether it may.
#include <algorithm>
#include <chrono>
#include <cmath>

#include "daq/bench/bench.hpp"

namespace coldstroke::daq {

namespace {

using std::chrono::milliseconds;

/// Longest time under pressure from the first charge to the count; seals creep and people tire.
constexpr double kHeldLimitSeconds = 300.0;
/// Token, release command and acknowledgement take their turn before a hang is counted.
constexpr double kReleaseDialogueSeconds = 1.0;
constexpr milliseconds kTokenWait{400};
constexpr milliseconds kSafeAgain{100};
constexpr milliseconds kLidAgain{200};
/// A hand-valve rig counts as venting once the pressure has fallen below this share of where it stood.
constexpr double kFallen = 0.98;

}  // namespace

void Bench::enter(Step step, HostTime now) {
  step_ = step;
  entered_ = now;
  deadline_.reset();
  gas_refused_ = false;
  token_until_.reset();
  const Setup& s = options_.setup;
  switch (step) {
    case Step::checks:
      rig_held_gas_ = false;
      break;
    case Step::charging:
      if (!held_since_) held_since_ = now;
      deadline_ = std::min(seconds_later(now, s.sequence.charge_limit_seconds), seconds_later(*held_since_, kHeldLimitSeconds));
      break;
    case Step::settling:
      deadline_ = seconds_later(*held_since_, kHeldLimitSeconds);
      break;
    case Step::counting:
      deadline_ = seconds_later(now, s.sequence.countdown_seconds);
      break;
    case Step::releasing:
      deadline_ = seconds_later(now, kReleaseDialogueSeconds + s.sequence.hang_seconds);
      break;
    case Step::recording:
      deadline_ = seconds_later(now, s.sequence.record_after_seconds);
      break;
    case Step::venting:
    case Step::aborting:
      low_since_.reset();
      vent_start_.reset();
      deadline_ = seconds_later(now, s.sequence.vent_limit_seconds);
      break;
    case Step::keep_clear:
    case Step::locked_out:
      keep_clear_until_ = seconds_later(now, s.sequence.keep_clear_seconds);
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
    case Action::open_lid:
    case Action::shut_lid:
      if (options_.setup.lid) want_lid_open_ = action == Action::open_lid;
      return;
    case Action::count_aloud:
      note_line(now, "counting down to release");
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
      alarm_.clear();
      if (recording_trial_) end_trial(aborted_ ? TrialStatus::aborted : TrialStatus::recorded, "aborted", stop_reason_);
      if (const auto& state = side(Node::rig).session.rig_state(); state && state->faults != 0)
        rig.command(wire::CommandCode::clear_faults);
      trial_ = 0;
      return;
    case Action::alarm:
      alarm_ = stop_reason_.empty() ? "the pressure does not come down" : stop_reason_;
      keep(now, "alarm", "KEEP CLEAR: " + alarm_);
      return;
  }
}

void Bench::seek_token(wire::CommandCode purpose, HostTime now) {
  token_purpose_ = purpose;
  token_request_ = side(Node::rig).dialogue.command(wire::CommandCode::request_token, static_cast<std::uint32_t>(purpose));
  token_until_ = now + kTokenWait;
}

void Bench::keep_commanded(HostTime now) {
  constexpr std::uint16_t kValves = wire::kChargeValve | wire::kVentValve | wire::kFastValve1 | wire::kFastValve2;
  const auto& state = side(Node::rig).session.rig_state();
  BoardDialogue& rig = side(Node::rig).dialogue;
  if (now >= safe_again_) {
    safe_again_ = now + kSafeAgain;
    const bool vented =
        state && (state->outputs & kValves) == wire::kVentValve && (state->readback & kValves) == wire::kVentValve;
    if (want_safe_ && !vented) rig.command(wire::CommandCode::vent);
    // the command to stop charging may have been lost on the line; it may be said as often as one likes
    const bool settled = step_ == Step::settling || step_ == Step::counting;
    if (settled && state && (state->outputs & wire::kChargeValve) != 0) rig.command(wire::CommandCode::stop_charge);
  }
  if (want_lid_open_ && state && now >= lid_again_) {
    lid_again_ = now + kLidAgain;
    const bool open = (state->outputs & wire::kLidOpen) != 0;
    if (open != *want_lid_open_) rig.command(*want_lid_open_ ? wire::CommandCode::open_lid : wire::CommandCode::shut_lid);
  }
}

/// A reading from before the vent was commanded says nothing of the vent-down, however fresh it still counts (a link that has
/// just gone). A hand valve opens when a person opens it: its vent-down is timed from the first fall of the pressure.
void Bench::follow_pressure(const Readings& r, HostTime now) {
  const bool slow = std::abs(r.pressure_slope) <= options_.setup.charge.steady_pascals_per_second;
  if (!slow || step_ == Step::charging) steady_since_.reset();
  if (slow && !steady_since_ && step_ != Step::charging) steady_since_ = now;
  const bool low = proven_low(r, options_.setup);
  if (!low) low_since_.reset();
  if (low && !low_since_) low_since_ = now;

  const bool venting = step_ == Step::venting || step_ == Step::aborting;
  if (!venting) {
    vent_start_.reset();
  } else if (!vent_start_ && pressure_known(r, options_.setup) && r.pressure_age < seconds_between(entered_, now)) {
    vent_start_ = VentStart{now, r.pressure_pascals, options_.setup.charge_valves == ChargeValves::driven};
  } else if (vent_start_ && !vent_start_->running && r.pressure_pascals < kFallen * vent_start_->pascals) {
    vent_start_ = VentStart{now, r.pressure_pascals, true};
  }
}

}  // namespace coldstroke::daq
