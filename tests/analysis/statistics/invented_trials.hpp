// SPDX-License-Identifier: GPL-3.0-or-later
//
// Trials for the counting tests: all invented.
#pragma once

#include <string>
#include <vector>

#include "analysis/statistics/trial_count.hpp"

namespace coldstroke::analysis::statistics {

inline Configuration configuration(const std::string& firmware = "3f9c", const std::string& mass = "1.50 kg") {
  return {"key-" + firmware + "-" + mass,
          {{"firmware", "sha-" + firmware, firmware}, {"detector settings", "d1", "window 8, 3 g"}, {"mass", mass, mass}}};
}

/// One letter a trial: p pass, f fail, v void, a aborted. Names go on from the number already there.
inline void add_trials(std::vector<TrialRecord>& trials, const std::string& verdicts, const Configuration& what) {
  for (const char letter : verdicts) {
    TrialRecord trial;
    trial.name = std::to_string(trials.size() + 1);
    trial.configuration = what;
    trial.verdict = letter == 'p'   ? CountedVerdict::pass
                    : letter == 'f' ? CountedVerdict::fail
                    : letter == 'v' ? CountedVerdict::void_
                                    : CountedVerdict::aborted;
    trial.charge = ChargeCheck::inside;
    trials.push_back(trial);
  }
}

inline std::vector<TrialRecord> trials_of(const std::string& verdicts, const Configuration& what = configuration()) {
  std::vector<TrialRecord> trials;
  add_trials(trials, verdicts, what);
  return trials;
}

}  // namespace coldstroke::analysis::statistics
