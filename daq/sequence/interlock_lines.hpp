// SPDX-License-Identifier: GPL-3.0-or-later
//
// One function an interlock. Internal to daq/sequence: everything else asks for the lists.
#pragma once

#include <optional>

#include "daq/sequence/interlocks.hpp"

namespace coldstroke::daq::lines {

/// nullopt: does not apply to this rig (no lid, hand valves, nothing declared).
using Line = std::optional<Interlock> (*)(const Readings&, const Setup&);

std::optional<Interlock> rig_link(const Readings&, const Setup&);
std::optional<Interlock> flight_link(const Readings&, const Setup&);
std::optional<Interlock> stop_loop(const Readings&, const Setup&);
std::optional<Interlock> release_key(const Readings&, const Setup&);
std::optional<Interlock> lid_open(const Readings&, const Setup&);
std::optional<Interlock> firing_channels(const Readings&, const Setup&);
std::optional<Interlock> detector(const Readings&, const Setup&);
std::optional<Interlock> no_playback(const Readings&, const Setup&);
std::optional<Interlock> boards_kept_running(const Readings&, const Setup&);
std::optional<Interlock> board_faults(const Readings&, const Setup&);
std::optional<Interlock> valves_before_charge(const Readings&, const Setup&);
std::optional<Interlock> valves_all_shut(const Readings&, const Setup&);
std::optional<Interlock> below_maximum(const Readings&, const Setup&);
std::optional<Interlock> charge_window(const Readings&, const Setup&);
std::optional<Interlock> steady(const Readings&, const Setup&);
std::optional<Interlock> pressure_low(const Readings&, const Setup&);
std::optional<Interlock> channels_alive(const Readings&, const Setup&);
std::optional<Interlock> channels_at_rest(const Readings&, const Setup&);
std::optional<Interlock> calibration(const Readings&, const Setup&);
std::optional<Interlock> declared(const Readings&, const Setup&);
std::optional<Interlock> clock_alignment(const Readings&, const Setup&);
std::optional<Interlock> archive(const Readings&, const Setup&);
std::optional<Interlock> archive_room(const Readings&, const Setup&);
std::optional<Interlock> setup_unchanged(const Readings&, const Setup&);
std::optional<Interlock> checklist(const Readings&, const Setup&);
std::optional<Interlock> target_pressure(const Readings&, const Setup&);
std::optional<Interlock> keep_clear_wait(const Readings&, const Setup&);
std::optional<Interlock> analysis_done(const Readings&, const Setup&);

}  // namespace coldstroke::daq::lines
