// SPDX-License-Identifier: GPL-3.0-or-later
//
// Everything the sequence looks at, as one value. Ages in seconds (kNever: not seen yet). A missing or stale input counts as
// false.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "daq/setup/setup.hpp"

namespace coldstroke::daq {

inline constexpr double kNever = std::numeric_limits<double>::infinity();

/// One channel over the last half second. A channel that never spoke has age kNever.
struct ChannelHealth {
  double age = kNever;
  bool saturated = false;          ///< at an end of its range at some time of it
  bool frozen = false;             ///< the same count all the time: no working converter does that
  double mean = 0.0, noise = 0.0;  ///< SI; noise is the standard deviation
};

/// A role's signature under the checklist of the running trial.
struct Signature {
  std::string role, name;
  std::string clock_time;   ///< local, HH:MM:SS
  bool unattended = false;  ///< by the virtual rig's own operator: nobody looked
  bool operator==(const Signature&) const = default;
};

/// A person's reason to go on although this interlock does not hold, for the running trial only.
struct Bypass {
  std::string interlock, reason;
  bool operator==(const Bypass&) const = default;
};

/// What the program's surroundings say: read outside, handed in as data.
struct Surroundings {
  std::string today;                                ///< ISO 8601 date, empty: not known
  std::optional<std::uint64_t> archive_room_bytes;  ///< free where the campaign file lies
  bool setup_file_same = true;                      ///< the setup file still reads as it did when it was loaded
};

/// How a vent-down is going, from the moment the vent was commanded open.
struct VentDown {
  double seconds = 0.0;        ///< from then to the newest pressure reading; a hand valve: from when the pressure began to fall
  double start_pascals = 0.0;  ///< gauge
};

struct Readings {
  double rig_age = kNever, flight_age = kNever;            ///< since the newest state frame of each board
  bool rig_compatible = false, flight_compatible = false;  ///< right kind of board, protocol version understood
  std::uint16_t rig_inputs = 0, rig_outputs = 0, rig_readback = 0, rig_faults = 0;
  bool rig_vented_itself = false;  ///< it says vented where this trial had it hold gas, or its boot counter jumped
  bool rig_restarted = false, flight_restarted = false;  ///< boot counter jumped since the trial began

  double pressure_pascals = 0.0, pressure_age = kNever;  ///< supply pressure, gauge, calibrated
  bool pressure_saturated = false, pressure_frozen = false;
  std::optional<double> chamber_pascals;  ///< gauge, if the setup has that channel and it is fresh
  double pressure_slope = 0.0;            ///< Pa/s over the settle time
  double steady_seconds = 0.0;            ///< how long the slope has been within its limit
  double low_seconds = 0.0;               ///< how long the pressure has been proven low
  std::optional<VentDown> vent_down;      ///< while venting or aborting with a known start

  bool armed_switch = false;
  std::vector<std::uint32_t> milliohms;
  bool detector_idle = false;
  bool playback = false;                      ///< the flight board's detector hears a played recording, not its accelerometer
  std::optional<double> dummy_load_amperes;   ///< largest of the last 50 ms, if the setup has that channel
  std::string rig_firmware, flight_firmware;  ///< "NAME VERSION", empty: not told yet
  std::vector<std::pair<std::string, std::string>> detector_settings;

  std::vector<ChannelHealth> channels;  ///< in setup order
  std::optional<double> alignment_uncertainty_seconds;

  bool archive_writable = false;
  std::string archive_trouble;
  std::uint64_t archive_needed_bytes = 0;  ///< for one trial
  Surroundings surroundings;

  std::vector<Signature> signatures;
  std::optional<double> typed_target_pascals;  ///< the charge that a person typed for this trial, gauge; none yet: nullopt
  std::vector<Bypass> bypasses;
  double keep_clear_remaining_seconds = 0.0;
  bool judged = true;  ///< no analysis is still running

  bool motion_seen = false, gas_refused = false;
  bool deadline_passed = false, lid_due = false;  ///< the driver's timers have run down
};

}  // namespace coldstroke::daq
