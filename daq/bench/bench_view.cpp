// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the bench shows of itself. Reads, never acts.
#include "daq/bench/bench_view.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "daq/bench/bench.hpp"
#include "daq/sequence/signatures.hpp"

namespace coldstroke::daq {

namespace {

std::string text(const char* format, double value) {
  std::array<char, 96> buffer{};
  std::snprintf(buffer.data(), buffer.size(), format, value);
  return buffer.data();
}

std::string minutes(double seconds) {
  const auto whole = static_cast<int>(std::ceil(std::max(0.0, seconds)));
  std::array<char, 16> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%d:%02d", whole / 60, whole % 60);
  return buffer.data();
}

constexpr std::array kLadder{Step::checks,    Step::charging,  Step::settling, Step::counting,
                             Step::releasing, Step::recording, Step::venting,  Step::review};
constexpr std::array kLadderNames{"Checks", "Charge", "Settle", "Count", "Release", "Record", "Vent", "Review"};

}  // namespace

const char* word(Headline headline) {
  static constexpr std::array kWords{"NOT KNOWN", "SAFE", "PRESSURISED", "RELEASE ENABLED", "RECORDING", "VENTING", "KEEP CLEAR"};
  return kWords[static_cast<std::size_t>(headline)];
}

Headline Bench::headline(const Readings& r) const {
  const double fresh = options_.setup.link_fresh_seconds;
  if (step_ == Step::keep_clear || step_ == Step::locked_out) return Headline::keep_clear;
  if (r.rig_age > fresh || r.pressure_age > fresh) return Headline::unknown;
  switch (step_) {
    case Step::counting:
    case Step::releasing:
      return Headline::release_enabled;
    case Step::recording:
      return Headline::recording;
    case Step::venting:
    case Step::aborting:
      return Headline::venting;
    case Step::charging:
    case Step::settling:
      return Headline::pressurised;
    default:
      break;
  }
  if (step_ == Step::review && r.keep_clear_remaining_seconds > 0.0) return Headline::keep_clear;
  const bool low = proven_low(r, options_.setup);
  const bool vent_open = options_.setup.charge_valves == ChargeValves::hand || (r.rig_readback & wire::kVentValve) != 0;
  return low && vent_open ? Headline::safe : Headline::pressurised;
}

InterlockList Bench::shown_interlocks(const Readings& r) const {
  switch (step_) {
    case Step::idle:
      return interlocks_to_enter(Step::checks, r, options_.setup);
    case Step::checks:
      return interlocks_to_enter(Step::charging, r, options_.setup);
    case Step::charging:
      return interlocks_while(Step::charging, r, options_.setup);
    case Step::settling:
      return interlocks_to_enter(Step::counting, r, options_.setup);
    case Step::counting:
      return interlocks_to_enter(Step::releasing, r, options_.setup);
    case Step::releasing:
      return interlocks_while(Step::releasing, r, options_.setup);
    case Step::review:
      return interlocks_to_enter(Step::idle, r, options_.setup);
    case Step::keep_clear:
    case Step::locked_out:
      return interlocks_to_enter(Step::review, r, options_.setup);
    default:
      return {};
  }
}

std::vector<InterlockLine> Bench::interlock_lines(const Readings& r) const {
  const InterlockList kept = interlocks_while(step_, r, options_.setup);
  std::vector<InterlockLine> out;
  for (const Interlock& line : shown_interlocks(r).lines) {
    InterlockLine shown{line.name,  line.reading, line.limit, line.remedy,     line.holds,
                        line.fresh, std::nullopt, false,      line.bypassable, line.bypass_reason};
    if (line.fresh_seconds < kNever) shown.fresh_seconds = line.fresh_seconds;
    shown.aborts = kept.find(line.name) != nullptr;
    out.push_back(std::move(shown));
  }
  return out;
}

ChecklistView Bench::checklist_view() const {
  ChecklistView out;
  out.items = options_.setup.checklist.items;
  out.open = step_ == Step::checks;
  for (const std::string& role : options_.setup.checklist.roles) {
    const auto signature = std::ranges::find(signatures_, role, &Signature::role);
    out.roles.push_back(signature == signatures_.end()
                            ? ChecklistView::Role{role, {}, {}, false}
                            : ChecklistView::Role{role, signature->name, signature->clock_time, signature->unattended});
  }
  return out;
}

NextAction Bench::next_action(const Readings& r) const {
  const double target_bar = options_.setup.charge.target_pascals / 1.0e5;
  NextAction next;
  Step to = step_;
  switch (step_) {
    case Step::idle:
      next = {"Begin trial " + std::to_string(next_trial_) + ": run the checks", OperatorRequest::begin, false, false, {}};
      to = Step::checks;
      break;
    case Step::checks:
      if (options_.virtual_rig && signatures_.size() < options_.setup.checklist.roles.size())
        return {"Sign the checklist as " + std::string{kUnattendedName}, OperatorRequest::sign_virtual_rig, true, false, {}};
      next = {"Hold to charge", OperatorRequest::charge, false, true, {}};
      if (typed_target_) next.label += " to " + text("%.2f bar", target_bar);
      to = Step::charging;
      break;
    case Step::settling:
      if (r.pressure_pascals < options_.setup.charge.low_pascals) {
        next = {"Hold to top up to " + text("%.2f bar", target_bar), OperatorRequest::charge, false, true, {}};
        to = Step::charging;
      } else {
        next = {"Hold to start the count to release", OperatorRequest::count, false, true, {}};
        to = Step::counting;
      }
      break;
    case Step::review:
      next = {"Finish trial " + std::to_string(trial_), OperatorRequest::acknowledge, false, false, {}};
      if (trial_ == 0) next.label = "Acknowledge";
      to = Step::idle;
      break;
    case Step::keep_clear:
    case Step::locked_out:
      next = {"Acknowledge: I have read the gauge and looked", OperatorRequest::acknowledge, false, false, {}};
      to = Step::review;
      break;
    case Step::charging:
      next.label = "Charging ...";
      return next;
    case Step::counting:
      next.label = "Counting: release follows";
      return next;
    case Step::releasing:
      next.label = "Releasing ...";
      return next;
    case Step::recording:
      next.label = "Recording the fall and landing ...";
      return next;
    case Step::venting:
    case Step::aborting:
      next.label = "Venting ...";
      return next;
  }
  const InterlockList needed = interlocks_to_enter(to, r, options_.setup);
  next.enabled = needed.all_hold();
  if (const Interlock* open = needed.first_open())
    next.why_not = open->name + ": reads " + open->reading + ", must be " + open->limit;
  return next;
}

std::vector<StepLine> Bench::ladder(HostTime now) const {
  std::vector<StepLine> out;
  bool passed = step_ != Step::idle;
  for (std::size_t k = 0; k < kLadder.size(); ++k) {
    StepLine line{kLadderNames[k], passed ? StepLine::State::done : StepLine::State::ahead, {}};
    if (kLadder[k] == step_) {
      line.state = StepLine::State::now;
      passed = false;
      if (deadline_) line.remark = minutes(seconds_between(now, *deadline_));
      if (step_ == Step::review && read_back_.active())
        line.remark = read_back_.state() == ReadBack::State::waiting_for_board
                          ? "waits for the flight board"
                          : text("reading %.0f %%", 100.0 * read_back_.progress());
    }
    out.push_back(std::move(line));
  }
  if (step_ == Step::aborting || step_ == Step::keep_clear || step_ == Step::locked_out) {
    for (StepLine& line : out) line.state = StepLine::State::ahead;
    std::string remark;
    if (keep_clear_until_ && step_ != Step::aborting) remark = minutes(seconds_between(now, *keep_clear_until_));
    out.push_back({std::string{word(step_)}, StepLine::State::now, remark});
  }
  return out;
}

LinkView Bench::link_view(Node node, HostTime now) const {
  const BoardSide& board = side(node);
  LinkView out;
  out.open = board.session.open();
  const auto heard = board.session.frame_time();
  out.age_seconds = heard ? seconds_between(*heard, now) : kNever;
  out.talking = out.age_seconds <= options_.setup.link_fresh_seconds;
  out.counts = board.session.counts();
  out.identity = board.session.identity_sentence();
  out.trouble = board.session.trouble();
  if (out.trouble.empty()) out.trouble = board.port_trouble;
  if (out.trouble.empty() && out.open && !out.talking) out.trouble = std::string{"the "} + word(node) + " does not answer";
  const LineKnowledge lines = line_knowledge(options_.setup);
  if (const auto health =
          clock_health(std::span{board.session.exchanges()}.last(std::min<std::size_t>(64, board.session.exchanges().size())),
                       node == Node::rig ? lines.rig : lines.flight)) {
    out.clock_uncertainty_seconds = health->standard_uncertainty_seconds;
    out.clock_drift_ppm = health->drift_ppm;
  }
  return out;
}

BenchView Bench::view(HostTime now) const {
  const Readings r = readings(now);
  BenchView out;
  out.headline = headline(r);
  if (r.pressure_age < kNever) out.pressure_pascals = r.pressure_pascals;
  out.pressure_age_seconds = r.pressure_age;
  out.step = step_;
  out.ladder = ladder(now);
  out.alarm = alarm_;
  if (r.keep_clear_remaining_seconds > 0.0) out.keep_clear_seconds = r.keep_clear_remaining_seconds;
  if (step_ == Step::counting && deadline_) out.countdown_seconds = std::max(0.0, seconds_between(now, *deadline_));
  out.interlocks = interlock_lines(r);
  out.checklist = checklist_view();
  out.keep_out = keep_out(options_.setup);
  out.hand_steps = hand_steps(step_, r, options_.setup);
  out.lacking_protections = lacking_protections(options_.setup);
  if (options_.setup.lid) {
    const bool open = (r.rig_inputs & wire::kLidOpenSwitch) != 0, shut = (r.rig_inputs & wire::kLidShutSwitch) != 0;
    out.lid = open && shut ? "both switches on" : open ? "open" : shut ? "shut" : "between";
  }
  out.lid_closing_seconds = lid_closing_seconds_;
  out.links = {link_view(Node::rig, now), link_view(Node::flight, now)};
  out.next = next_action(r);
  out.trial_number = trial_ != 0 ? trial_ : next_trial_;
  if (const auto& state = side(Node::flight).session.flight_state(); state && r.flight_age <= options_.setup.link_fresh_seconds) {
    out.detector = state->detector;
    out.detector_known = true;
  }
  out.firing = firing_sentence(r, options_.setup);
  out.alignment_uncertainty_seconds = r.alignment_uncertainty_seconds;
  for (std::size_t c = 0; c < options_.setup.channels.size(); ++c) {
    const ChannelSetup& channel = options_.setup.channels[c];
    ChannelView view{channel.name, channel.quantity, channel.role, std::nullopt, kNever, false};
    if (const auto& newest = live_.newest()[c]) {
      view.newest = newest->value;
      view.age_seconds = seconds_between(newest->time, now);
      view.saturated = newest->saturated;
    }
    out.channels.push_back(std::move(view));
  }
  out.log.assign(log_.begin(), log_.end());
  out.last = last_;
  out.virtual_rig = options_.virtual_rig;
  out.campaign_file = options_.campaign_file;
  out.campaign_name = options_.campaign_name;
  out.typed_target_pascals = typed_target_;
  return out;
}

}  // namespace coldstroke::daq
