// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/sequence/sequence.hpp"

#include <algorithm>
#include <array>
#include <initializer_list>

namespace coldstroke::daq {

namespace {

constexpr std::array kOpenTrial{Action::open_trial, Action::open_lid};
constexpr std::array kStartCharge{Action::start_charge};
constexpr std::array kStopCharge{Action::stop_charge};
constexpr std::array kCount{Action::count_aloud};
constexpr std::array kStartRelease{Action::start_release};
constexpr std::array kMakeSafe{Action::make_safe};
constexpr std::array kAbort{Action::make_safe, Action::mark_aborted};
constexpr std::array kHang{Action::make_safe, Action::mark_aborted, Action::mark_hang, Action::alarm};
constexpr std::array kAlarm{Action::make_safe, Action::alarm};
constexpr std::array kLock{Action::make_safe, Action::mark_aborted, Action::alarm};
constexpr std::array kShutLid{Action::make_safe, Action::shut_lid};
constexpr std::array kJudge{Action::judge};
constexpr std::array kClose{Action::close_trial};
constexpr std::span<const Action> kNothing{};

using enum SequenceEvent;

// The whole machine. Every automatic row moves towards vent; only a person's acknowledgement leads back to idle.
constexpr std::array kRows{
    Row{Step::idle, begin_requested, true, Step::checks, kOpenTrial, "a trial is opened, recording begins, the lid opens"},
    Row{Step::idle, found_pressurised, false, Step::venting, kMakeSafe, "the rig already holds pressure: vent it first"},
    Row{Step::idle, live_channel_found, false, Step::locked_out, kLock, "a live firing channel: nobody charges"},
    Row{Step::idle, abort_requested, false, Step::aborting, kAbort, "vent, whatever it was doing"},

    Row{Step::checks, charge_requested, true, Step::charging, kStartCharge, "token, vent shut, charge valve open"},
    Row{Step::checks, found_pressurised, false, Step::aborting, kAbort, "pressure where there should be none"},
    Row{Step::checks, live_channel_found, false, Step::locked_out, kLock, "a live firing channel: nobody charges"},
    Row{Step::checks, abort_requested, false, Step::aborting, kAbort, "stop here"},
    Row{Step::checks, board_vented_itself, false, Step::aborting, kAbort, "the rig board started anew: begin again"},

    Row{Step::charging, pressure_reached, false, Step::settling, kStopCharge, "charge valve shut at the target"},
    Row{Step::charging, interlock_lost, false, Step::aborting, kAbort, "an interlock was lost under pressure"},
    Row{Step::charging, live_channel_found, false, Step::locked_out, kLock, "a live firing channel under pressure"},
    Row{Step::charging, gas_refused, false, Step::aborting, kAbort, "the board or an interlock refused to charge"},
    Row{Step::charging, board_vented_itself, false, Step::aborting, kAbort, "the board made itself safe"},
    Row{Step::charging, abort_requested, false, Step::aborting, kAbort, "stop here"},
    Row{Step::charging, deadline_passed, false, Step::aborting, kAbort, "the target was not reached in time"},

    Row{Step::settling, count_requested, true, Step::counting, kCount, "in the window and steady: the countdown begins"},
    Row{Step::settling, charge_requested, true, Step::charging, kStartCharge, "top up"},
    Row{Step::settling, interlock_lost, false, Step::aborting, kAbort, "an interlock was lost under pressure"},
    Row{Step::settling, live_channel_found, false, Step::locked_out, kLock, "a live firing channel under pressure"},
    Row{Step::settling, board_vented_itself, false, Step::aborting, kAbort, "the board made itself safe"},
    Row{Step::settling, abort_requested, false, Step::aborting, kAbort, "stop here"},
    Row{Step::settling, deadline_passed, false, Step::aborting, kAbort, "held under pressure too long"},

    Row{Step::counting, deadline_passed, true, Step::releasing, kStartRelease, "countdown over: token, then release"},
    Row{Step::counting, interlock_lost, false, Step::aborting, kAbort, "an interlock was lost in the count"},
    Row{Step::counting, live_channel_found, false, Step::locked_out, kLock, "a live firing channel in the count"},
    Row{Step::counting, board_vented_itself, false, Step::aborting, kAbort, "the board made itself safe"},
    Row{Step::counting, abort_requested, false, Step::aborting, kAbort, "stop the count"},

    // From here the fast valves may have opened: whatever stops it before motion is seen counts as a hang.
    Row{Step::releasing, motion_seen, false, Step::recording, kNothing, "the vehicle moves"},
    Row{Step::releasing, gas_refused, false, Step::aborting, kAbort,
        "the board or an interlock refused to release: no gas moved"},
    Row{Step::releasing, interlock_lost, false, Step::keep_clear, kHang, "an interlock was lost before motion"},
    Row{Step::releasing, live_channel_found, false, Step::locked_out, kLock, "a live firing channel before motion"},
    Row{Step::releasing, board_vented_itself, false, Step::keep_clear, kHang, "the board made itself safe before motion"},
    Row{Step::releasing, abort_requested, false, Step::keep_clear, kHang, "stopped after the release command"},
    Row{Step::releasing, deadline_passed, false, Step::keep_clear, kHang, "commanded, no motion: hang"},

    Row{Step::recording, lid_due, false, Step::recording, kShutLid, "separated: vent the rest, then shut the lid"},
    Row{Step::recording, deadline_passed, false, Step::venting, kMakeSafe, "fall and landing are recorded: vent the rest"},
    Row{Step::recording, abort_requested, false, Step::venting, kMakeSafe, "vent now; what was recorded is judged"},
    Row{Step::recording, board_vented_itself, false, Step::venting, kMakeSafe,
        "the board vented by itself; what was recorded is judged"},

    Row{Step::venting, pressure_low, false, Step::review, kJudge, "proven low on a live sensor; the vent stays open"},
    Row{Step::venting, vent_slow, false, Step::keep_clear, kAlarm, "slower than 1.5 times the isothermal blowdown"},
    Row{Step::venting, deadline_passed, false, Step::keep_clear, kAlarm, "the pressure is not proven low in time"},
    Row{Step::venting, abort_requested, false, Step::venting, kMakeSafe, "vent again"},

    Row{Step::aborting, pressure_low, false, Step::review, kNothing, "proven low on a live sensor; the vent stays open"},
    Row{Step::aborting, vent_slow, false, Step::keep_clear, kAlarm, "slower than 1.5 times the isothermal blowdown"},
    Row{Step::aborting, deadline_passed, false, Step::keep_clear, kAlarm, "the pressure is not proven low in time"},
    Row{Step::aborting, live_channel_found, false, Step::locked_out, kLock, "a live firing channel"},
    Row{Step::aborting, abort_requested, false, Step::aborting, kAbort, "vent again"},

    Row{Step::review, acknowledged, true, Step::idle, kClose, "a person has seen it"},
    Row{Step::review, found_pressurised, false, Step::venting, kMakeSafe, "pressure came back"},
    Row{Step::review, live_channel_found, false, Step::locked_out, kAlarm, "a live firing channel: nobody approaches"},
    Row{Step::review, abort_requested, false, Step::aborting, kAbort, "vent again"},

    Row{Step::keep_clear, acknowledged, true, Step::review, kJudge,
        "the wait is over, the pressure is proven low, a person has seen it"},
    Row{Step::keep_clear, live_channel_found, false, Step::locked_out, kAlarm, "a live firing channel: nobody approaches"},
    Row{Step::keep_clear, abort_requested, false, Step::keep_clear, kMakeSafe, "vent again"},

    Row{Step::locked_out, acknowledged, true, Step::review, kJudge,
        "the cause is gone, the wait is over, the pressure is proven low, a person has seen it"},
    Row{Step::locked_out, abort_requested, false, Step::locked_out, kMakeSafe, "vent again"},
};

constexpr std::uint16_t in(std::initializer_list<Step> steps) {
  unsigned mask = 0;
  for (const Step step : steps) mask |= 1U << static_cast<unsigned>(step);
  return static_cast<std::uint16_t>(mask);
}
constexpr std::uint16_t but(std::initializer_list<Step> steps) {
  return static_cast<std::uint16_t>(((1U << kSteps) - 1U) & ~static_cast<unsigned>(in(steps)));
}

constexpr std::array kDisregards{
    Disregard{begin_requested, but({Step::idle}), "a trial begins from idle only"},
    Disregard{charge_requested, but({Step::checks, Step::settling}), "a charge follows the checks, or tops up while settling"},
    Disregard{count_requested, but({Step::settling}), "a count follows settling only"},
    Disregard{acknowledged, but({Step::review, Step::keep_clear, Step::locked_out}), "there is nothing to acknowledge"},
    Disregard{interlock_lost, in({Step::idle, Step::checks}), "nothing is charged; it blocks the next step"},
    Disregard{interlock_lost,
              in({Step::recording, Step::venting, Step::review, Step::aborting, Step::keep_clear, Step::locked_out}),
              "the vehicle is out or the vent is open: nothing left to stop"},
    Disregard{live_channel_found, in({Step::recording, Step::venting}),
              "the detector may rightly decide now; it is looked at again before anyone approaches"},
    Disregard{live_channel_found, in({Step::locked_out}), "locked out already"},
    Disregard{pressure_reached, but({Step::charging}), "the charge valve is shut"},
    Disregard{motion_seen, but({Step::releasing}), "no release is under way"},
    Disregard{gas_refused, but({Step::charging, Step::releasing}), "no gas command is under way"},
    Disregard{pressure_low, in({Step::idle, Step::checks, Step::review}), "as it should be"},
    Disregard{pressure_low, in({Step::charging, Step::settling, Step::counting, Step::releasing, Step::recording}),
              "the charge window judges it"},
    Disregard{pressure_low, in({Step::keep_clear, Step::locked_out}), "a person looks first"},
    Disregard{found_pressurised, in({Step::charging, Step::settling, Step::counting, Step::releasing, Step::recording}),
              "as it should be"},
    Disregard{found_pressurised, in({Step::venting, Step::aborting, Step::keep_clear, Step::locked_out}), "the vent is open"},
    Disregard{board_vented_itself,
              in({Step::idle, Step::venting, Step::review, Step::aborting, Step::keep_clear, Step::locked_out}),
              "the vent is open anyway"},
    Disregard{vent_slow, but({Step::venting, Step::aborting}), "no vent-down is being timed"},
    Disregard{lid_due, but({Step::recording}), "the vehicle has not left, or the lid was commanded already"},
    Disregard{deadline_passed, in({Step::idle, Step::checks, Step::review, Step::keep_clear, Step::locked_out}),
              "no time limit: a person goes on"},
};

constexpr bool no_duplicate_rows() {
  for (std::size_t i = 0; i < kRows.size(); ++i)
    for (std::size_t k = i + 1; k < kRows.size(); ++k)
      if (kRows[i].from == kRows[k].from && kRows[i].on == kRows[k].on) return false;
  return true;
}
static_assert(no_duplicate_rows());

constexpr bool every_step_answers_abort() {
  for (std::size_t s = 0; s < kSteps; ++s) {
    const bool answers = std::ranges::any_of(
        kRows, [s](const Row& row) { return row.from == static_cast<Step>(s) && row.on == SequenceEvent::abort_requested; });
    if (!answers) return false;
  }
  return true;
}
static_assert(every_step_answers_abort());

/// idle is reached by a person's acknowledgement only.
constexpr bool only_people_lead_to_idle() {
  return std::ranges::all_of(kRows, [](const Row& row) { return row.to != Step::idle || row.on == SequenceEvent::acknowledged; });
}
static_assert(only_people_lead_to_idle());

constexpr bool has_row(Step step, SequenceEvent event) {
  return std::ranges::any_of(kRows, [&](const Row& row) { return row.from == step && row.on == event; });
}

/// Every step meets every event in exactly one place: a row, or a disregard.
constexpr bool every_pair_is_decided() {
  for (std::size_t s = 0; s < kSteps; ++s)
    for (std::size_t e = 0; e < kSequenceEvents; ++e) {
      const auto step = static_cast<Step>(s);
      const auto event = static_cast<SequenceEvent>(e);
      const auto disregards = std::ranges::count_if(kDisregards, [&](const Disregard& d) { return d.on == event && d.in(step); });
      if (disregards + (has_row(step, event) ? 1 : 0) != 1) return false;
    }
  return true;
}
static_assert(every_pair_is_decided());

}  // namespace

std::span<const Row> sequence_table() { return kRows; }
std::span<const Disregard> sequence_disregards() { return kDisregards; }

const Row* transition(std::span<const Row> table, Step from, SequenceEvent on) {
  const auto row = std::ranges::find_if(table, [&](const Row& r) { return r.from == from && r.on == on; });
  return row == table.end() ? nullptr : &*row;
}

const Row* transition(Step from, SequenceEvent on) { return transition(kRows, from, on); }

const char* word(Step step) {
  static constexpr std::array kWords{"idle",      "checks",  "charging", "settling", "counting",   "releasing",
                                     "recording", "venting", "review",   "aborting", "keep clear", "locked out"};
  static_assert(kWords.size() == kSteps);
  return kWords[static_cast<std::size_t>(step)];
}

const char* word(SequenceEvent event) {
  static constexpr std::array kWords{
      "begin requested",     "charge requested", "count requested", "abort requested", "acknowledged", "interlock lost",
      "live channel found",  "pressure reached", "motion seen",     "gas refused",     "pressure low", "found pressurised",
      "board vented itself", "vent slow",        "lid due",         "deadline passed"};
  static_assert(kWords.size() == kSequenceEvents);
  return kWords[static_cast<std::size_t>(event)];
}

const char* word(Action action) {
  static constexpr std::array kWords{"open trial",  "open lid",      "shut lid",  "start charge", "stop charge",
                                     "count aloud", "start release", "make safe", "mark aborted", "mark hang",
                                     "judge",       "close trial",   "alarm"};
  return kWords[static_cast<std::size_t>(action)];
}

}  // namespace coldstroke::daq
