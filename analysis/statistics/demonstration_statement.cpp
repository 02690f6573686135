// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/demonstration_statement.hpp"

#include <algorithm>

#include "analysis/statistics/preconditions.hpp"
#include "analysis/statistics/wording.hpp"

namespace coldstroke::analysis::statistics {

namespace {

constexpr auto kWhere = "demonstration statement";

std::string since(std::span<const TrialRecord> trials, const TrialRun& run) {
  if (!run.begun_by) return " since the first trial";
  if (run.begun_by->changes.empty()) return " since the charge of trial " + trials[run.begun_by->trial].name + " left its band";
  const Change& first = run.begun_by->changes.front();
  std::string words = " since " + first.part + " " + first.after;
  if (const std::size_t more = run.begun_by->changes.size() - 1; more > 0)
    words += " and " + counted(static_cast<std::int64_t>(more), "other change");
  return words;
}

std::string whole_percent(double part) { return fixed(100.0 * part, 0) + " %"; }

std::string goal_words(Goal goal) { return share(goal.reliability) + " at " + percent(goal.confidence); }

std::string sentence(std::span<const TrialRecord> trials, const TrialRun& run, const DemonstrationStatement& statement) {
  std::string words = std::to_string(run.passes) + " of " + std::to_string(run.judged()) + " passed" + since(trials, run) + "; ";
  const auto next = std::ranges::find(statement.goals, false, &GoalState::shown);
  if (statement.bounds.empty()) {
    words += "shows nothing yet";
  } else if (next != statement.goals.begin()) {
    words += "shows " + goal_words(std::prev(next)->goal);
  } else {
    const ReliabilityBound& bound = statement.bounds.front();
    words += bound.at_least > 0.0 ? "shows " + fixed(bound.at_least, 2, Rounding::down) + " at " + percent(bound.confidence)
                                  : std::string{"shows nothing"};
  }
  if (next != statement.goals.end())
    return words + "; " + std::to_string(next->passes_still_needed) + " more for " + goal_words(next->goal);
  const ReliabilityBound& bound = statement.bounds.back();
  return words + " (exactly " + fixed(bound.at_least, 4, Rounding::down) + "); nothing above that is shown";
}

void note_trials(std::span<const TrialRecord> trials, const TrialRun& run, std::vector<std::string>& notes) {
  if (const auto part = run.void_share(); part && run.voids > 0)
    notes.push_back(counted(run.voids, "void trial") + " in this run (" + whole_percent(*part) +
                    "): they neither count nor help, and are no failures either. Look at each.");
  for (const std::size_t place : run.hand_voided)
    notes.push_back("Trial " + trials[place].name + " was voided by hand, judged before as " +
                    (trials[place].hand_void->judged_before == CountedVerdict::fail   ? "failed"
                     : trials[place].hand_void->judged_before == CountedVerdict::pass ? "passed"
                                                                                      : "void") +
                    ": " + trials[place].hand_void->reason);
  for (const std::size_t place : run.charge_outside)
    notes.push_back("Trial " + trials[place].name + (trials[place].verdict == CountedVerdict::fail ? " failed" : " passed") +
                    " with its charge outside the declared band" +
                    (trials[place].charge_words.empty() ? "" : " (" + trials[place].charge_words + ")") +
                    ": in no count, yet it happened.");
  if (run.charge_not_checked > 0)
    notes.push_back(counted(run.charge_not_checked, "counted trial") +
                    " without a charge measured against a declared band: the conditions are not known to be the same.");
}

void note_closed_runs(std::span<const TrialRecord> trials, const TrialCount& count, std::vector<std::string>& notes) {
  for (std::size_t k = 0; k + 1 < count.runs.size(); ++k) {
    const TrialRun& run = count.runs[k];
    notes.push_back("Closed run, trials " + trials[run.first].name + " to " + trials[run.last].name + ": " +
                    std::to_string(run.passes) + " of " + std::to_string(run.judged()) + " passed" +
                    (run.fails > 0 ? ", " + counted(run.fails, "failure") + " that the later count does not hold" : "") + ".");
    std::vector<std::string> inside;
    note_trials(trials, run, inside);
    notes.insert(notes.end(), inside.begin(), inside.end());
  }
  if (count.whole.void_share() && count.runs.size() > 1 && count.whole.voids > 0)
    notes.push_back("Over all runs " + counted(count.whole.voids, "trial") + " void (" +
                    whole_percent(*count.whole.void_share()) + ") and " + counted(count.whole.aborted, "trial") + " aborted.");
}

/// Trials of the run that had been judged before a person voided them.
std::int64_t judged_before_void(std::span<const TrialRecord> trials, const TrialRun& run) {
  return std::ranges::count_if(run.hand_voided, [&](std::size_t place) {
    const CountedVerdict was = trials[place].hand_void->judged_before;
    return was == CountedVerdict::pass || was == CountedVerdict::fail;
  });
}

Result<std::vector<ReliabilityBound>> bounds_at(std::span<const GoalState> goals, std::int64_t trials, std::int64_t failures) {
  std::vector<ReliabilityBound> out;
  for (const GoalState& state : goals) {
    const Result<ReliabilityBound> bound = reliability_shown(trials, failures, state.goal.confidence);
    if (!bound) return refuse(bound.error());
    out.push_back(*bound);
  }
  return out;
}

/// Goals with the state that the run gives them, easiest first.
Result<std::vector<GoalState>> judge_goals(std::span<const Goal> goals, const TrialRun& run) {
  std::vector<std::pair<std::int64_t, GoalState>> ordered;
  for (const Goal& goal : goals) {
    const Result<std::int64_t> needed = trials_needed(goal, 0), more = passes_still_needed(run.judged(), run.fails, goal);
    if (!needed) return refuse(needed.error());
    if (!more) return refuse(more.error());
    ordered.emplace_back(*needed, GoalState{goal, *more == 0, *more});
  }
  std::ranges::stable_sort(ordered, {}, &std::pair<std::int64_t, GoalState>::first);
  std::vector<GoalState> out;
  out.reserve(ordered.size());
  for (const auto& [needed, state] : ordered) out.push_back(state);
  return out;
}

}  // namespace

Result<DemonstrationStatement> state_demonstration(std::span<const TrialRecord> trials, const TrialCount& count,
                                                   std::span<const Goal> goals) {
  if (goals.empty()) return complain("no goal to state the trials against", kWhere, "give a reliability and a confidence");
  if (trials.empty() ? !count.runs.empty() : count.runs.empty() || count.whole.last + 1 != trials.size())
    return complain("the count belongs to other trials", kWhere, "count these trials first");
  const TrialRun run = count.runs.empty() ? TrialRun{} : count.runs.back();
  DemonstrationStatement out;
  Result<std::vector<GoalState>> states = judge_goals(goals, run);
  if (!states) return refuse(states.error());
  out.goals = *std::move(states);
  if (run.judged() > 0) {
    Result<std::vector<ReliabilityBound>> bounds = bounds_at(out.goals, run.judged(), run.fails);
    if (!bounds) return refuse(bounds.error());
    out.bounds = *std::move(bounds);
  }
  if (const std::int64_t extra = judged_before_void(trials, run); extra > 0) {
    Result<std::vector<ReliabilityBound>> bounds = bounds_at(out.goals, run.judged() + extra, run.fails + extra);
    if (!bounds) return refuse(bounds.error());
    out.bounds_if_voided_had_failed = *std::move(bounds);
    const ReliabilityBound& worst = out.bounds_if_voided_had_failed.front();
    out.notes.push_back("Had the trials voided by hand failed: " + fixed(worst.at_least, 2, Rounding::down) + " at " +
                        percent(worst.confidence) + ".");
  }
  if (run.begun_by) out.notes.push_back(run.begun_by->words);
  note_trials(trials, run, out.notes);
  note_closed_runs(trials, count, out.notes);
  out.sentence = sentence(trials, run, out);
  return out;
}

}  // namespace coldstroke::analysis::statistics
