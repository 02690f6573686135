// SPDX-License-Identifier: GPL-3.0-or-later
//
// Two comparisons: the board's answers to a playback with what its stated settings should have done, and one detector with
// another on the same recordings.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/detector/operating_map.hpp"
#include "analysis/detector/prepared_library.hpp"

namespace coldstroke::analysis {

/// Playback of one stimulus, predicted against reported, sample by sample.
struct PlaybackAgreement {
  std::size_t samples_compared = 0;
  std::size_t samples_differing = 0;  ///< samples at which the two states differ
  std::optional<std::size_t> first_difference;
  DetectorState predicted_there = DetectorState::idle, reported_there = DetectorState::idle;  ///< at first_difference
  std::optional<std::size_t> predicted_decision, reported_decision;
  [[nodiscard]] bool agrees() const { return samples_differing == 0; }
  bool operator==(const PlaybackAgreement&) const = default;
};

/// Both lists give changes of state from idle, ascending by sample (two at one sample: the last one holds from there), indices
/// from the stimulus' first sample. Compared over `sample_count` samples. Complaint: indices that do not ascend, or lie beyond
/// the stimulus: the board reset or lost count midway.
[[nodiscard]] Result<PlaybackAgreement> compare_playback(std::span<const StateChange> predicted,
                                                         std::span<const StateChange> reported, std::size_t sample_count);
/// What the settings predict for the very counts that were sent, compared with what the board reported.
[[nodiscard]] Result<PlaybackAgreement> compare_playback(const DetectorSettings& settings, std::span<const std::int32_t> counts,
                                                         std::span<const StateChange> reported);
/// nullopt if they agree; else the finding "firmware_differs" for this stimulus: where, and how far the decisions are apart.
[[nodiscard]] std::optional<Finding> playback_finding(const PlaybackAgreement& agreement, const std::string& stimulus,
                                                      double sample_rate_hz);

/// One recording under two detectors.
struct BeforeAfterPair {
  std::size_t recording = 0;
  std::string name;
  Label label = Label::must_fire;
  RecordingResult before, after;
};

/// Two detectors on identical recordings, ready for the statistical tests: counts for exact tests of proportions, latencies for
/// shift tests, differences for paired ones.
struct BeforeAfter {
  std::vector<BeforeAfterPair> pairs;                ///< in the library's order
  std::uint32_t right_before = 0, wrong_before = 0;  ///< in_time or silent; anything else
  std::uint32_t right_after = 0, wrong_after = 0;
  std::uint32_t mended = 0, broken = 0;  ///< wrong then right; right then wrong (for McNemar's exact test)
  std::vector<double> latencies_before_seconds, latencies_after_seconds;  ///< must_fire decided at or after first motion
  std::vector<double> latency_changes_seconds;                            ///< after less before, where both were so decided
  std::vector<std::size_t> worst_first;  ///< places in `pairs`: broken, wrong in both, largest latency increase, ...
};

/// Counts, latencies and order of pairs that were answered.
[[nodiscard]] BeforeAfter compare_results(std::vector<BeforeAfterPair> pairs);
/// Each spec samples the library as its own board does. Complaints: of the library or either spec.
[[nodiscard]] Result<BeforeAfter> compare_detectors(std::span<const Recording> library, const DetectorSpec& before,
                                                    const DetectorSpec& after);

/// One detector's line in a side-by-side table.
struct DetectorLine {
  DetectorSpec spec;
  DetectorSettings settings;
  std::vector<RecordingResult> results;  ///< in the library's order
  MapCell summary;                       ///< counts, outcome, latencies, margins over the library
  std::vector<Finding> findings;         ///< about the library as this board sees it
};
/// Every detector over the same library. Complaint: of the library, or of the first spec that has one.
[[nodiscard]] Result<std::vector<DetectorLine>> side_by_side(std::span<const Recording> library,
                                                             std::span<const DetectorSpec> specs);

}  // namespace coldstroke::analysis
