// SPDX-License-Identifier: GPL-3.0-or-later
//
// The bench's dealings with the archive: opening, keeping, ending and judging a trial.
#include <algorithm>
#include <array>
#include <cstdio>
#include <ctime>
#include <utility>

#include "daq/bench/bench.hpp"
#include "daq/sequence/signatures.hpp"
#include "daq/setup/charge_target.hpp"
#include "daq/setup/keep_out.hpp"

namespace coldstroke::daq {

namespace {

constexpr std::size_t kLogLines = 200;

std::string local_clock() {
  const std::time_t now = std::time(nullptr);
  std::tm local{};
  localtime_r(&now, &local);
  std::array<char, 16> buffer{};
  std::strftime(buffer.data(), buffer.size(), "%H:%M:%S", &local);
  return buffer.data();
}

std::string bar_gauge(double pascals) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.2f bar gauge", pascals / 1.0e5);
  return text.data();
}

/// Why a trial passed, failed or is void, in one sentence: the first criterion that says so.
std::string verdict_sentence(const analysis::TrialResult& result) {
  for (const auto& judgement : result.criteria)
    if (judgement.verdict == result.verdict && result.verdict != analysis::Verdict::pass)
      return judgement.criterion.name + ": " + judgement.reason;
  return result.verdict == analysis::Verdict::pass ? "every criterion holds" : "no criterion could be judged";
}

}  // namespace

void Bench::open_trial(HostTime now) {
  aborted_ = hung_ = false;
  identity_stored_ = {};
  signatures_.clear();
  typed_target_.reset();
  options_.setup.charge.target_pascals = setup_target_pascals_;
  alarm_.clear();
  lid_closing_seconds_.reset();
  for (BoardSide& board : sides_) board.restarted_in_trial = false;
  const auto number = recorder_.begin_trial(options_.setup, options_.virtual_rig, options_.origin);
  if (!number) {
    archive_trouble_ = number.error().what;
    note_line(now, "the trial cannot be opened: " + number.error().what + ". " + number.error().remedy);
    return;
  }
  trial_ = *number;
  next_trial_ = trial_ + 1;
  recording_trial_ = true;
  keep(now, "trial", "trial " + std::to_string(trial_) + " opened");
  for (const Bypass& bypass : bypasses_) keep_bypass(now, bypass);  // given while idle, for this trial
  for (const std::string& warning : keep_out(options_.setup).warnings) keep(now, "keep-out", warning);
  for (BoardSide& board : sides_) board.dialogue.introduce(now);
  BoardDialogue& flight = side(Node::flight).dialogue;
  flight.command(wire::CommandCode::reset_detector);
  flight.command(wire::CommandCode::begin_record, static_cast<std::uint32_t>(trial_));
}

void Bench::start_judging(HostTime now) {
  if (!recording_trial_ || aborted_ || judging_) return;
  judging_ = true;
  read_back_.begin(now, static_cast<std::uint32_t>(trial_), options_.setup.sequence.readback_limit_seconds);
}

void Bench::end_trial(TrialStatus status, const std::string& verdict, const std::string& sentence) {
  hand_over();
  bypasses_.clear();
  recording_trial_ = false;
  read_back_.cancel();
  const auto ended = recorder_.end_trial(status);
  if (!ended) archive_trouble_ = ended.error().what;
  if (status == TrialStatus::recorded) {
    to_judge_ = trial_;
    return;
  }
  judging_ = false;
  last_ = LastTrial{trial_, verdict, sentence};
  finished_.push_back(*last_);
}

void Bench::leave(HostTime now) {
  if (!recording_trial_) return;
  keep(now, "stopped", "left unfinished in step '" + std::string{word(step_)} + "'");
  end_trial(TrialStatus::aborted, "aborted", stop_reason_.empty() ? "the program was left" : stop_reason_);
}

Result<void> Bench::sign(HostTime now, const std::string& role, const std::string& name,
                         const std::vector<std::string>& confirmed) {
  if (auto trouble = signature_trouble(step_, options_.setup.checklist, signatures_, role, name, confirmed)) {
    keep(now, "refused", "signature of " + role + ": " + trouble->what);
    return tl::unexpected{std::move(*trouble)};
  }
  signatures_.push_back({role, name, local_clock(), false});
  keep(now, "signed",
       role + ": " + name + " signed all " + std::to_string(confirmed.size()) + " items of the checklist for trial " +
           std::to_string(trial_));
  return {};
}

/// Nobody looks at a virtual rig, and nobody can be hurt by one: the mark says so for good.
void Bench::sign_virtual_rig(HostTime now) {
  if (!options_.virtual_rig || step_ != Step::checks) {
    keep(now, "refused", "only a virtual rig is signed for by nobody, and only in its checks");
    return;
  }
  for (const std::string& role : options_.setup.checklist.roles) {
    if (std::ranges::find(signatures_, role, &Signature::role) != signatures_.end()) continue;
    signatures_.push_back({role, kUnattendedName, local_clock(), true});
    keep(now, "signed", role + ": " + kUnattendedName + ", nobody looked, trial " + std::to_string(trial_));
  }
  typed_target_ = setup_target_pascals_;
  keep(now, "target", "target pressure: " + bar_gauge(setup_target_pascals_) + ", the setup's; nobody typed it");
}

Result<void> Bench::bypass(HostTime now, const std::string& interlock, const std::string& reason) {
  if (auto trouble = bypass_trouble(interlock, reason)) {
    keep(now, "refused", "bypass of " + interlock + ": " + trouble->what);
    return tl::unexpected{std::move(*trouble)};
  }
  std::erase_if(bypasses_, [&](const Bypass& bypass) { return bypass.interlock == interlock; });
  bypasses_.push_back({interlock, reason});
  keep_bypass(now, bypasses_.back());
  return {};
}

Result<void> Bench::set_target(HostTime now, double pascals) {
  std::optional<Complaint> trouble = target_trouble(pascals, options_.setup);
  if (step_ != Step::checks)
    trouble = Complaint{"the target is typed in the checks of a trial", "target pressure", "type it before the charge"};
  if (trouble) {
    keep(now, "refused", "target pressure: " + trouble->what);
    return tl::unexpected{std::move(*trouble)};
  }
  typed_target_ = options_.setup.charge.target_pascals = pascals;
  keep(now, "target", "target pressure typed: " + bar_gauge(pascals));
  return {};
}

void Bench::keep_bypass(HostTime now, const Bypass& bypass) {
  keep(now, "bypass", bypass.interlock + " bypassed: " + bypass.reason);
}

std::optional<std::int64_t> Bench::take_trial_to_judge() { return std::exchange(to_judge_, std::nullopt); }

void Bench::judged(std::int64_t trial, const Result<JudgedTrial>& judged, HostTime now) {
  judging_ = false;
  LastTrial out{trial, "void", ""};
  if (judged) {
    // A vehicle that never left is one that may still leave: hold as a hang (safety reference, hazard 4).
    if (!judged->result.marks.separation_seconds && judged->result.marks.release_commanded_seconds) {
      keep_clear_until_ = seconds_later(now, options_.setup.sequence.keep_clear_seconds);
      alarm_ = "the record shows no separation: the vehicle may still be in the tube";
      note_line(now, "KEEP CLEAR: " + alarm_);
    }
    out.verdict = word(judged->result.verdict);
    out.sentence = verdict_sentence(judged->result);
    if (const auto added = recorder_.add_result(out.verdict, result_json(judged->result)); !added)
      archive_trouble_ = added.error().what;
  } else {
    out.sentence = judged.error().what + " (" + judged.error().where + "). " + judged.error().remedy;
  }
  note_line(now, "trial " + std::to_string(trial) + ": " + out.verdict + ", " + out.sentence);
  last_ = out;
  finished_.push_back(std::move(out));
}

std::vector<LastTrial> Bench::take_finished() { return std::exchange(finished_, {}); }

void Bench::add_note(HostTime now, const std::string& author, const std::string& text) {
  keep(now, "note", author + ": " + text);
}

void Bench::note_line(HostTime /*now*/, std::string text) {
  log_.push_back({local_clock(), std::move(text)});
  while (log_.size() > kLogLines) log_.pop_front();
}

void Bench::keep(HostTime now, std::string kind, std::string text) {
  if (recording_trial_) events_.push_back({us_of(now), std::move(kind), text});
  note_line(now, std::move(text));
}

void Bench::hand_over() {
  if (rows_.empty() && events_.empty()) return;
  if (!recorder_.append(std::exchange(rows_, {}), std::exchange(events_, {})))
    archive_trouble_ = "the disk cannot follow: the queue to the archive is full, rows of this trial are lost";
  rows_bytes_ = 0;
}

}  // namespace coldstroke::daq
