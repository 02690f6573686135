// SPDX-License-Identifier: GPL-3.0-or-later
//
// What boards answered to a playback, kept in a file, and two boards' answers laid side by side: the firmware before and after
// proven on the boards themselves.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "analysis/detector/agreement.hpp"
#include "daq/playback/playback_report.hpp"

namespace coldstroke::daq {

/// One recording as a board answered it.
struct PlayedAnswer {
  std::string recording;
  std::size_t samples = 0;
  std::uint32_t counts_crc32c = 0;  ///< of the counts sent: x, y, z of each sample, 16 bits, low byte first
  bool played_whole = false;
  std::string trouble;  ///< why it was not
  std::optional<std::size_t> decision_sample;
  bool operator==(const PlayedAnswer&) const = default;
};

/// A board's answers to a playback.
struct PlayedAnswers {
  BoardClaims claims;  ///< firmware, its settings, and the stream that tells rate and range
  std::vector<PlayedAnswer> answers;
  /// "reference 1.4"
  [[nodiscard]] std::string firmware() const;
};

[[nodiscard]] PlayedAnswers played_answers(const PlaybackRun& run);
/// The summary of a playback and every answer, for machines and for `read_played_answers` (docs/detectors.md).
[[nodiscard]] std::string playback_json(const PlaybackReport& report, const PlaybackRun& run);
/// Complaint, with file and place: it cannot be read, is no such file or one of a newer version, or a value in it is impossible.
[[nodiscard]] Result<PlayedAnswers> read_played_answers(const std::filesystem::path& file);

struct PlayedComparison {
  analysis::BeforeAfter pairs;
  /// "not_compared": a recording left out, and why; "same_firmware": both files name the same firmware with the same settings.
  std::vector<analysis::Finding> findings;
  analysis::Axis axis = analysis::Axis::z;  ///< that the detector after watches, if the program knows it
  double rate_before_hz = 0.0, rate_after_hz = 0.0;
};

/// Pairs what both boards answered to the same recordings of `library`. The counts of each are made anew for its board's rate
/// and range and must be those that were sent; what was not played whole, is missing on a side or was another recording is left
/// out and said. Complaint: of the library; nothing is left to compare.
[[nodiscard]] Result<PlayedComparison> compare_played(std::span<const analysis::Recording> library, const PlayedAnswers& before,
                                                      const PlayedAnswers& after);

}  // namespace coldstroke::daq
