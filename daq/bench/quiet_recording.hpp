// SPDX-License-Identifier: GPL-3.0-or-later
//
// Records what the flight board's accelerometer reads while the vehicle is carried, knocked or set down: through the bench,
// without gas. The rig board is not opened and no command is sent to any board: the talk holds hellos only.
#pragma once

#include <functional>
#include <string>

#include "analysis/detector/recording.hpp"
#include "analysis/result.hpp"
#include "daq/setup/setup.hpp"
#include "daq/virtual_rig/process.hpp"

namespace coldstroke::daq {

struct QuietRequest {
  std::string name;  ///< of the recording
  analysis::Event event = analysis::Event::other;
  double seconds = 10.0;  ///< of samples, by the board's own count; above 0, at most kLongestQuietSeconds
};
inline constexpr double kLongestQuietSeconds = 3600.0;

/// Told about ten times a second how much is recorded; false stops, and nothing is kept.
using QuietProgress = std::function<bool(double seconds_recorded)>;

/// The vehicle's acceleration, calibrated as the setup says, as a recording that must stay silent. Complaint: no setup channel of
/// the flight board has the role; no board answers or another one; the arm switch is closed, at any moment; a playback is on; a
/// board that resets midway; samples lost on the line; stopped.
[[nodiscard]] Result<analysis::Recording> record_quietly(const Setup& setup, const QuietRequest& request,
                                                         const QuietProgress& progress = {});
/// The same from a virtual rig of its own, in simulated or in real time; marked as computed.
[[nodiscard]] Result<analysis::Recording> record_quietly(const Setup& setup, const VirtualRigOptions& options,
                                                         bool simulated_time, const QuietRequest& request,
                                                         const QuietProgress& progress = {},
                                                         const VirtualRigProgram& program = {});

}  // namespace coldstroke::daq
