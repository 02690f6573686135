// SPDX-License-Identifier: GPL-3.0-or-later
//
// The board's answers beside what its detector's description predicts for the very counts that were sent.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/detector/agreement.hpp"
#include "daq/playback/playback_run.hpp"

namespace coldstroke::daq {

struct PlaybackLine {
  std::string stimulus;
  std::optional<analysis::PlaybackAgreement> agreement;  ///< absent: not played whole
};

struct PlaybackReport {
  std::vector<PlaybackLine> lines;          ///< one a stimulus
  std::vector<analysis::Finding> findings;  ///< firmware_differs, board_reset_midway, stimulus_not_played, line_loss
  std::size_t stimuli = 0, played = 0, agreeing = 0, decided = 0;
  std::uint64_t samples_sent = 0, samples_played = 0, samples_lost = 0;  ///< of stimuli played; lost: sent and not played
  std::uint64_t samples_compared = 0, samples_differing = 0;
  std::uint64_t refused = 0, starved = 0, resets = 0;
};

/// `spec`: what the firmware is held to; its rate and range must be the board's. Complaint: its own.
[[nodiscard]] Result<PlaybackReport> playback_report(const PlaybackRun& run, const analysis::DetectorSpec& spec);
/// Held to `held_to`, with findings "claim_differs" and "unknown_claim" where the board says otherwise of itself; without it to
/// what the board says. Complaint: that is no detector this program knows.
[[nodiscard]] Result<PlaybackReport> judge_playback(const PlaybackRun& run, const std::optional<analysis::DetectorSpec>& held_to);
/// "200 stimuli played, 0 of 391000 samples lost; board and replay agree in all 200 that were played."
[[nodiscard]] std::string sentence(const PlaybackReport& report);

}  // namespace coldstroke::daq
