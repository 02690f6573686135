// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "daq/record/evidence_trials.hpp"
#include "gui/report/sheet_source.hpp"

namespace coldstroke::gui {

/// The operating map of a sheet: window by threshold, 24 values each, around what the flight board says of its detector
/// (`flight_identity`, JSON as kept with the last trial), over the campaign's trials and the recordings kept beside them. Nothing
/// if there are none; a map that cannot be had says why. Complaint: the file cannot be read; stopped by `progress`.
[[nodiscard]] Result<std::optional<SheetMap>> read_sheet_map(const std::filesystem::path& campaign,
                                                             const std::string& flight_identity,
                                                             const daq::Progress& progress = {});

/// The whole sheet: read_sheet, then its map. Each trial is decoded twice.
[[nodiscard]] Result<SheetInput> read_mapped_sheet(const std::filesystem::path& campaign, const SheetRequest& request,
                                                   const daq::Progress& progress = {});

}  // namespace coldstroke::gui
