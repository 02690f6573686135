// SPDX-License-Identifier: GPL-3.0-or-later
//
// A library brought to one board's rate, word and range, and what a decision on each recording amounts to.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/detector/detector_model.hpp"
#include "analysis/detector/recording.hpp"

namespace coldstroke::analysis {

/// How one recording came out.
enum class ReplayOutcome : std::uint8_t {
  in_time,        ///< must_fire, decided from first motion to the deadline, both included
  late,           ///< must_fire, decided after it
  missed,         ///< must_fire, never decided
  early,          ///< must_fire, decided before first motion
  silent,         ///< must_stay_silent, never decided
  false_decision  ///< must_stay_silent, decided
};
[[nodiscard]] const char* word(ReplayOutcome outcome);  ///< "in_time" ...
/// As it should be: in_time or silent.
[[nodiscard]] constexpr bool right(ReplayOutcome outcome) {
  return outcome == ReplayOutcome::in_time || outcome == ReplayOutcome::silent;
}

/// One recording in counts along the watched axis.
struct PreparedRecording {
  std::string name;
  Label label = Label::must_stay_silent;
  std::vector<std::int32_t> counts;
  std::size_t clipped_samples = 0;     ///< at an end of the board's own range
  double first_motion_seconds = 0.0;   ///< must_fire
  double deadline_seconds = 0.0;       ///< must_fire
  std::size_t first_motion_index = 0;  ///< must_fire: first sample not before first motion
  std::size_t last_in_time_index = 0;  ///< must_fire: last sample not after first motion + deadline
};

struct PreparedLibrary {
  std::vector<PreparedRecording> recordings;  ///< in the library's order
  BoardSampling board;
  std::vector<Finding> findings;  ///< check_library's, and "slower_than_board", "clipped_by_board"
};

/// Checks the library (check_library) and samples it as `board` would. No detector setting but the axis enters.
[[nodiscard]] Result<PreparedLibrary> prepare_library(std::span<const Recording> library, Axis axis, const BoardSampling& board);

/// One recording as `board` would sample it; of a library that was checked.
[[nodiscard]] PreparedRecording prepare_recording(const Recording& recording, Axis axis, const BoardSampling& board);

/// What happened to one recording under one detector.
struct RecordingResult {
  ReplayOutcome outcome = ReplayOutcome::missed;
  std::optional<std::size_t> decision_index;
  std::optional<double> latency_seconds;  ///< must_fire and decided: from first motion, negative when early
  bool operator==(const RecordingResult&) const = default;
};

[[nodiscard]] RecordingResult judge(const PreparedRecording& recording, double sample_rate_hz,
                                    std::optional<std::size_t> decision_index);
/// Every recording through the model, sample by sample.
[[nodiscard]] std::vector<RecordingResult> replay_library(const PreparedLibrary& library, const DetectorSettings& settings);

}  // namespace coldstroke::analysis
