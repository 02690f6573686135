// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which trials are evidence about the thing that is on the bench now. Trials are evidence about what was tested, so only
// consecutive judged trials of one configuration are counted together, all of them. Rules: docs/statistics.md, "Counting".
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/result.hpp"

namespace coldstroke::analysis::statistics {

/// One part of a configuration: firmware identity, detector settings, rig, mass, criteria.
struct ConfigurationPart {
  std::string part;      ///< for people: "firmware"
  std::string identity;  ///< compared byte by byte: a digest or a canonical text
  std::string words;     ///< for people, after the part's name: "3f9c"
  bool operator==(const ConfigurationPart&) const = default;
};

/// What was tested. Two are the same if the key and every part's identity are the same.
struct Configuration {
  std::string key;  ///< digest over everything, also over what no part names
  std::vector<ConfigurationPart> parts;
  bool operator==(const Configuration&) const = default;
};

enum class CountedVerdict { pass, fail, void_, aborted };
/// `not_checked`: no band declared, or the charge was not measured.
enum class ChargeCheck { inside, outside, not_checked };

/// A person set a verdict aside. The trial stays visible with what it had been judged and why it no longer is.
struct HandVoid {
  CountedVerdict judged_before = CountedVerdict::fail;
  std::string reason;
  bool operator==(const HandVoid&) const = default;
};

struct TrialRecord {
  std::string name;  ///< "14"
  Configuration configuration;
  CountedVerdict verdict = CountedVerdict::void_;
  ChargeCheck charge = ChargeCheck::not_checked;
  std::string charge_words;           ///< "9.1 bar, declared 7.8 to 8.2 bar"; may be empty
  std::optional<HandVoid> hand_void;  ///< only with verdict void_
  bool operator==(const TrialRecord&) const = default;
};

/// One part that is not what it was.
struct Change {
  std::string part, before, after;
  bool operator==(const Change&) const = default;
};

/// Why the count began again.
struct Restart {
  std::size_t trial = 0;        ///< place in the list, from 0
  std::vector<Change> changes;  ///< of the configuration; empty if only the charge left its band
  bool charge_left_band = false;
  std::string words;  ///< one sentence
  bool operator==(const Restart&) const = default;
};

/// Consecutive trials of one configuration.
struct TrialRun {
  std::size_t first = 0, last = 0;  ///< places in the list, both included
  std::int64_t passes = 0, fails = 0;
  std::int64_t voids = 0, aborted = 0;      ///< neither count nor help
  std::vector<std::size_t> hand_voided;     ///< places; also in `voids`
  std::vector<std::size_t> charge_outside;  ///< judged, charge outside its band: not counted, never hidden
  std::int64_t charge_not_checked = 0;      ///< counted although nobody knows that the charge was right
  std::optional<Restart> begun_by;          ///< none for the first run
  [[nodiscard]] std::int64_t judged() const { return passes + fails; }
  /// Voids among voids and judged trials; none before there is one.
  [[nodiscard]] std::optional<double> void_share() const;
  bool operator==(const TrialRun&) const = default;
};

/// Every run from the first trial on, the current one last. Earlier runs are closed, never dropped.
struct TrialCount {
  std::vector<TrialRun> runs;
  TrialRun whole;  ///< sums over all trials, whatever they tested: for the share of voids, not for a demonstration
  bool operator==(const TrialCount&) const = default;
};

/// Counts trials in the order they were run.
/// A changed configuration begins a new run at the first trial that has it, judged or not. A judged trial with its charge
/// outside the band ends the run and is itself in no count. A void or aborted trial changes nothing else.
/// Refuses a hand-voided trial without a reason or with another verdict than void, and a trial without a name or key.
/// An empty list gives no runs.
[[nodiscard]] Result<TrialCount> count_trials(std::span<const TrialRecord> trials);

}  // namespace coldstroke::analysis::statistics
