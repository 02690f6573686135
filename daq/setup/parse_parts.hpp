// SPDX-License-Identifier: GPL-3.0-or-later
//
// The two long lists of a setup file. Internal to daq/setup.
#pragma once

#include <vector>

#include "daq/setup/setup.hpp"
#include "daq/setup/table_reader.hpp"

namespace coldstroke::daq {

/// [[channel]] with [channel.calibration]
[[nodiscard]] std::vector<ChannelSetup> parse_channels(TableReader& root);
/// [[criterion]]
[[nodiscard]] std::vector<analysis::Criterion> parse_criteria(TableReader& root);

}  // namespace coldstroke::daq
