// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/prepared_library.hpp"

#include <array>
#include <cmath>

#include "analysis/detector/board_counts.hpp"

namespace coldstroke::analysis {
namespace {

/// Slack for instants that fall on a sample but for the last bits of a division, in samples.
constexpr double kIndexSlack = 1.0e-6;

void note(const Recording& r, const PreparedRecording& p, const BoardSampling& board, std::vector<Finding>& findings) {
  if (r.sample_rate_hz < board.sample_rate_hz && !same_rate(r.sample_rate_hz, board.sample_rate_hz))
    findings.push_back({"slower_than_board", r.name,
                        "recorded at " + std::to_string(std::lround(r.sample_rate_hz)) + " Hz, the board samples at " +
                            std::to_string(std::lround(board.sample_rate_hz)) + " Hz: peaks between its samples are not known"});
  if (p.clipped_samples > 0)
    findings.push_back({"clipped_by_board", r.name,
                        std::to_string(p.clipped_samples) + " samples lie at or beyond the board's range and are held there"});
}

}  // namespace

const char* word(ReplayOutcome outcome) {
  static constexpr std::array kWords{"in_time", "late", "missed", "early", "silent", "false_decision"};
  return kWords[static_cast<std::size_t>(outcome)];
}

PreparedRecording prepare_recording(const Recording& r, Axis axis, const BoardSampling& board) {
  PreparedRecording out;
  out.name = r.name;
  out.label = r.label;
  BoardCounts sampled = board_counts(r.along(axis), r.sample_rate_hz, board);
  out.counts = std::move(sampled.counts);
  out.clipped_samples = sampled.clipped_samples;
  if (r.label != Label::must_fire) return out;
  // By the board's own clock, which counts the same samples: a recording's rate may have been told by another.
  const double clock = same_rate(r.sample_rate_hz, board.sample_rate_hz) ? r.sample_rate_hz / board.sample_rate_hz : 1.0;
  out.first_motion_seconds = r.first_motion_seconds * clock;
  out.deadline_seconds = r.deadline_seconds;
  const double rate = board.sample_rate_hz;
  out.first_motion_index = static_cast<std::size_t>(std::ceil(std::max(0.0, out.first_motion_seconds * rate - kIndexSlack)));
  const double last = std::floor((out.first_motion_seconds + r.deadline_seconds) * rate + kIndexSlack);
  out.last_in_time_index = last < 9.0e15 ? static_cast<std::size_t>(last) : std::size_t{9'000'000'000'000'000};
  return out;
}

Result<PreparedLibrary> prepare_library(std::span<const Recording> library, Axis axis, const BoardSampling& board) {
  auto findings = check_library(library, axis);
  if (!findings) return tl::unexpected{findings.error()};
  if (!(board.sample_rate_hz > 0.0) || !(board.range_g > 0.0) || board.bits < 8 || board.bits > 24)
    return complain("the board's sampling is not stated", "board", "give sample_rate_hz, bits (8 to 24) and range_g");
  PreparedLibrary out;
  out.board = board;
  out.findings = std::move(*findings);
  out.recordings.reserve(library.size());
  for (const Recording& r : library) {
    out.recordings.push_back(prepare_recording(r, axis, board));
    note(r, out.recordings.back(), board, out.findings);
  }
  return out;
}

RecordingResult judge(const PreparedRecording& recording, double sample_rate_hz, std::optional<std::size_t> decision_index) {
  RecordingResult out;
  out.decision_index = decision_index;
  if (recording.label == Label::must_stay_silent) {
    out.outcome = decision_index ? ReplayOutcome::false_decision : ReplayOutcome::silent;
    return out;
  }
  if (!decision_index) return out;
  out.latency_seconds = static_cast<double>(*decision_index) / sample_rate_hz - recording.first_motion_seconds;
  out.outcome = *decision_index < recording.first_motion_index   ? ReplayOutcome::early
                : *decision_index > recording.last_in_time_index ? ReplayOutcome::late
                                                                 : ReplayOutcome::in_time;
  return out;
}

std::vector<RecordingResult> replay_library(const PreparedLibrary& library, const DetectorSettings& settings) {
  std::vector<RecordingResult> out;
  out.reserve(library.recordings.size());
  for (const PreparedRecording& r : library.recordings)
    out.push_back(judge(r, library.board.sample_rate_hz, replay(settings, r.counts)));
  return out;
}

}  // namespace coldstroke::analysis
