// SPDX-License-Identifier: GPL-3.0-or-later
//
// Plays stimuli to a flight board behind a port, or to the virtual rig's in lock-step.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "analysis/detector/recording.hpp"
#include "daq/playback/playback_session.hpp"
#include "daq/setup/setup.hpp"
#include "daq/virtual_rig/process.hpp"
#include "protocol/wire/decoder.hpp"

namespace coldstroke::daq {

struct PlaybackRun {
  BoardClaims claims;
  std::vector<Stimulus> stimuli;
  std::vector<StimulusAnswer> answers;
  std::optional<Complaint> ended_early;
  wire::LineCounts line;         ///< from the board
  double elapsed_seconds = 0.0;  ///< bench time
};

/// Makes the stimuli once the board has said its rate, word and range.
using StimulusMaker = std::function<Result<std::vector<Stimulus>>(const BoardClaims&)>;
/// Told before each stimulus; false stops after the one in progress.
using PlaybackProgress = std::function<bool(std::size_t done, std::size_t total)>;

/// All axes of each recording as the board would have sampled them (an axis not recorded reads its rest). Complaint: the board's
/// samples are wider than 16 bits; a recording without samples.
[[nodiscard]] Result<std::vector<Stimulus>> stimuli_of(std::span<const analysis::Recording> recordings,
                                                       const BoardClaims& claims);

/// Real time, over a serial port or pseudo-terminal. Complaint: no board answers. What was played before a later trouble is kept,
/// with `ended_early`.
[[nodiscard]] Result<PlaybackRun> play_over_port(const PortSetup& port, const StimulusMaker& make,
                                                 const PlaybackProgress& progress = {});
/// A virtual rig of its own for the time of the run, in simulated or in real time.
[[nodiscard]] Result<PlaybackRun> play_to_virtual_board(const VirtualRigOptions& options, bool simulated_time,
                                                        const StimulusMaker& make, const PlaybackProgress& progress = {},
                                                        const VirtualRigProgram& program = {});
/// Simulated time, as fast as the machine goes.
[[nodiscard]] Result<PlaybackRun> play_in_lockstep(VirtualRigProcess& rig, const StimulusMaker& make,
                                                   const PlaybackProgress& progress = {});

}  // namespace coldstroke::daq
