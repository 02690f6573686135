// SPDX-License-Identifier: GPL-3.0-or-later
//
// Settings proposed from a library. A proposal is arithmetic on the recordings it was given: it says what it rests on and what
// evidence is missing, and a person decides.
#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/detector/operating_map.hpp"

namespace coldstroke::analysis {

struct RecommendationRequest {
  DetectorSpec spec;                   ///< kind, axis, filter, building level, board; window, threshold and deadline are sought
  std::vector<double> window_seconds;  ///< candidates, ascending
  std::vector<double> thresholds;      ///< candidates, ascending, g or m/s
  double igniter_delay_seconds = 0.0;  ///< decision to thrust
  /// Last instant at which thrust may begin, from first motion. Latest safe decision: this less the igniter delay; a recording's
  /// own deadline counts too if it is sooner.
  double ignition_window_end_seconds = 0.0;
};

/// The margins of a proposal, each a fraction of what there is to lose; the smallest is what was maximised.
struct ProposalMargins {
  double weaker = 0.0;   ///< 1 - threshold / lowest level reached in time: must_fire may be this much weaker
  double quieter = 0.0;  ///< 1 - highest level where silence is due / threshold
  double sooner = 0.0;   ///< time left at the worst decision, over the latest safe decision
  [[nodiscard]] double smallest() const;
  bool operator==(const ProposalMargins&) const = default;
};

struct Proposal {
  DetectorSpec spec;  ///< as requested with window, threshold and deadline filled in
  MapCell summary;    ///< of this very spec over the library, replayed with its deadline
  ProposalMargins margins;
  double latest_safe_decision_seconds = 0.0;  ///< from first motion
};

struct Recommendation {
  std::optional<Proposal> proposal;           ///< absent: no candidate gets every recording right
  std::string reason;                         ///< one sentence: what was chosen and what binds it, or why there is none
  std::vector<std::string> missing_evidence;  ///< what the library does not hold, one sentence each
};

/// Exact over all candidate pairs, by the operating map's method. The deadline proposed is the middle between the shortest that
/// lets every decision through and the longest that still inhibits at or before the latest safe decision, both counted from the
/// first building sample; left out, and said so in `reason`, if there is no such room.
/// Complaints: of the library, candidates or detector; no must_fire recording; an ignition window that ends before the igniter
/// has lit. nullopt inside: cancelled.
[[nodiscard]] Result<std::optional<Recommendation>> recommend(std::span<const Recording> library,
                                                              const RecommendationRequest& request,
                                                              const std::function<bool()>& cancelled = {});

/// What the library lacks, whatever the detector: kinds of silent events without a recording, too few or only synthesised
/// ejections (with what n faultless ones show: reliability 0.05^(1/n) at 95 % confidence, exact binomial), clipped or short ones.
[[nodiscard]] std::vector<std::string> missing_evidence(std::span<const Recording> library, std::span<const Finding> findings);

}  // namespace coldstroke::analysis
