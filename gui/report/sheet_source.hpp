// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <optional>

#include "daq/record/evidence_trials.hpp"
#include "gui/report/sheet.hpp"

namespace coldstroke::gui {

struct SheetRequest {
  analysis::EvidenceRequest evidence;                           ///< set before the first trial
  std::optional<std::vector<analysis::HandoverItem>> intended;  ///< for flight
};

/// Everything for a sheet but its operating map (gui/window/detector/sheet_map.hpp) from a campaign file: checks every byte and
/// decodes every trial, so it takes tens of milliseconds a trial. An altered file gives a sheet that says so. Complains about a
/// campaign without a trial, since it has no setup to tell of.
[[nodiscard]] Result<SheetInput> read_sheet(const std::filesystem::path& campaign, const SheetRequest& request,
                                            const daq::Progress& progress = {});

/// Complains of a name that no sheet can have: to be asked before the long reading.
[[nodiscard]] Result<void> check_sheet_name(const std::filesystem::path& file);
/// To PDF or HTML by the name's ending, .pdf or .html. The words say what was written, and whether the campaign file was altered.
[[nodiscard]] Result<std::string> write_sheet(const std::filesystem::path& file, const SheetInput& input, PaperSize paper);

}  // namespace coldstroke::gui
