// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/trial_count.hpp"

#include <algorithm>

#include "analysis/statistics/preconditions.hpp"

namespace coldstroke::analysis::statistics {

namespace {

bool is_judged(CountedVerdict verdict) { return verdict == CountedVerdict::pass || verdict == CountedVerdict::fail; }

const ConfigurationPart* find_part(const Configuration& configuration, const std::string& part) {
  const auto found = std::ranges::find(configuration.parts, part, &ConfigurationPart::part);
  return found == configuration.parts.end() ? nullptr : &*found;
}

std::vector<Change> changes_between(const Configuration& before, const Configuration& after) {
  std::vector<Change> changes;
  for (const ConfigurationPart& now : after.parts) {
    const ConfigurationPart* was = find_part(before, now.part);
    if (was == nullptr)
      changes.push_back({now.part, "not stated", now.words});
    else if (was->identity != now.identity)
      changes.push_back({now.part, was->words, now.words});
  }
  for (const ConfigurationPart& was : before.parts)
    if (find_part(after, was.part) == nullptr) changes.push_back({was.part, was.words, "not stated"});
  if (changes.empty() && before.key != after.key)
    changes.push_back({"configuration", before.key.substr(0, 8), after.key.substr(0, 8)});
  return changes;
}

std::string restart_words(const TrialRecord& trial, const Restart& restart) {
  std::string words = "Count restarted at trial " + trial.name + ": ";
  for (std::size_t k = 0; k < restart.changes.size(); ++k) {
    const Change& change = restart.changes[k];
    words += (k > 0 ? "; " : "") + change.part + " " + change.before + " became " + change.after;
  }
  if (restart.charge_left_band) {
    words += restart.changes.empty() ? "" : "; ";
    words += "charge outside its declared band" + (trial.charge_words.empty() ? "" : " (" + trial.charge_words + ")");
  }
  return words + ".";
}

std::optional<Complaint> unfit(const TrialRecord& trial) {
  constexpr auto kWhere = "count of trials";
  if (trial.name.empty() || trial.configuration.key.empty())
    return Complaint{"a trial without a name or without a configuration key", kWhere,
                     "give every trial its name and the digest of what was tested"};
  if (!trial.hand_void) return std::nullopt;
  if (trial.verdict != CountedVerdict::void_)
    return Complaint{"trial " + trial.name + " is voided by hand and yet not void", kWhere, "set its verdict to void"};
  if (trial.hand_void->reason.find_first_not_of(" \t\r\n") == std::string::npos)
    return Complaint{"trial " + trial.name + " is voided by hand without a reason", kWhere,
                     "write the reason, which must come from records other than the result itself"};
  return std::nullopt;
}

/// Adds one trial to a run's sums. Whether it may be there is already decided.
void add(TrialRun& run, const TrialRecord& trial, std::size_t place) {
  run.last = place;
  if (trial.verdict == CountedVerdict::aborted) ++run.aborted;
  if (trial.verdict == CountedVerdict::void_) ++run.voids;
  if (trial.hand_void) run.hand_voided.push_back(place);
  if (!is_judged(trial.verdict)) return;
  if (trial.charge == ChargeCheck::outside) {
    run.charge_outside.push_back(place);
    return;
  }
  ++(trial.verdict == CountedVerdict::pass ? run.passes : run.fails);
  if (trial.charge == ChargeCheck::not_checked) ++run.charge_not_checked;
}

/// A run that the charge has just broken and that holds no counted trial yet is broken again without opening another.
bool already_waiting(const TrialRun& run) { return run.begun_by && run.begun_by->charge_left_band && run.judged() == 0; }

}  // namespace

std::optional<double> TrialRun::void_share() const {
  // A judged trial with its charge outside the band is in no count, but it was no void either.
  const auto all = static_cast<double>(voids + judged()) + static_cast<double>(charge_outside.size());
  if (all == 0.0) return std::nullopt;
  return static_cast<double>(voids) / all;
}

Result<TrialCount> count_trials(std::span<const TrialRecord> trials) {
  TrialCount count;
  for (std::size_t place = 0; place < trials.size(); ++place) {
    const TrialRecord& trial = trials[place];
    if (const auto fault = unfit(trial)) return refuse(*fault);
    Restart restart{.trial = place, .changes = {}, .charge_left_band = false, .words = {}};
    if (place > 0) restart.changes = changes_between(trials[place - 1].configuration, trial.configuration);
    restart.charge_left_band = is_judged(trial.verdict) && trial.charge == ChargeCheck::outside;
    restart.words = restart_words(trial, restart);
    const bool broken =
        !restart.changes.empty() || (restart.charge_left_band && place > 0 && !already_waiting(count.runs.back()));
    if (count.runs.empty() || broken) {
      TrialRun run{.first = place, .last = place, .hand_voided = {}, .charge_outside = {}, .begun_by = std::nullopt};
      if (broken || restart.charge_left_band) run.begun_by = restart;
      count.runs.push_back(std::move(run));
    }
    add(count.runs.back(), trial, place);
    add(count.whole, trial, place);
  }
  return count;
}

}  // namespace coldstroke::analysis::statistics
