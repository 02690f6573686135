// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <vector>

#include "analysis/evidence/flight_handover.hpp"
#include "analysis/result.hpp"

namespace coldstroke::daq {

/// A flight configuration: a TOML file with the keys of tested_items (daq/record) and any others ("motor", "balance.offset_mm").
/// Tables become "table.key". Complains with file and line.
[[nodiscard]] Result<std::vector<analysis::HandoverItem>> load_flight_configuration(const std::filesystem::path& file);

}  // namespace coldstroke::daq
