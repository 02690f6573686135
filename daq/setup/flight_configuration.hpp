// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "analysis/evidence/flight_handover.hpp"
#include "analysis/result.hpp"

namespace coldstroke::daq {

/// A flight configuration: a TOML file with the keys of tested_items (daq/record) and any others ("motor", "balance.offset_mm").
/// Tables become "table.key". Complains with file and line.
[[nodiscard]] Result<std::vector<analysis::HandoverItem>> load_flight_configuration(const std::filesystem::path& file);
/// The text of such a file; values that read as numbers are written as numbers.
[[nodiscard]] std::string flight_configuration_text(const std::vector<analysis::HandoverItem>& items);

}  // namespace coldstroke::daq
