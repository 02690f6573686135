// SPDX-License-Identifier: GPL-3.0-or-later
//
// The long lists of a setup file, and what it says about safety. Internal to daq/setup.
#pragma once

#include <vector>

#include "daq/setup/setup.hpp"
#include "daq/setup/table_reader.hpp"

namespace coldstroke::daq {

/// [[calibration]], each put in force for its channel; after [[channel]].
[[nodiscard]] std::vector<CalibrationRecord> parse_calibrations(TableReader& root, std::vector<ChannelSetup>& channels);
/// [[channel]] with [channel.calibration]
[[nodiscard]] std::vector<ChannelSetup> parse_channels(TableReader& root);
/// [[criterion]]
[[nodiscard]] std::vector<analysis::Criterion> parse_criteria(TableReader& root);
/// [lid], [[pressure_part]], [keep_out], [checklist], [declared]; what they say about the charge is checked against
/// `setup.charge`.
void parse_safety(TableReader& root, Setup& setup);
/// [coast], [ignition_window], [igniter], [tip_off], [fast_valves], each optional; after [flight].
void parse_after_tube(TableReader& root, Setup& setup);

}  // namespace coldstroke::daq
