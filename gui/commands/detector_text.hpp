// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the detector verbs print.
#pragma once

#include <nlohmann/json.hpp>
#include <ostream>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/detector/agreement.hpp"
#include "daq/detector/foreign_detector.hpp"
#include "gui/window/detector/before_after_drawing.hpp"

namespace coldstroke::gui {

/// What a verb says of its argument that names a library.
inline constexpr std::string_view kLibraryWords =
    "Library table (.toml), or a campaign file: its trials must fire, beside the recordings kept in it";

/// The library of a table or campaign file; what was left out of it, and why, goes to standard error.
[[nodiscard]] Result<std::vector<analysis::Recording>> read_library(const std::string& file);
/// One line a recording: label, event, length, rate, where it comes from.
void print_library(std::ostream& out, std::span<const analysis::Recording> library);
/// One line a detector, then each recording that came out wrong.
void print_side_by_side(std::ostream& out, std::span<const analysis::DetectorLine> lines,
                        std::span<const analysis::Recording> library);
[[nodiscard]] nlohmann::ordered_json side_by_side_json(std::span<const analysis::DetectorLine> lines,
                                                       std::span<const analysis::Recording> library);
/// One sentence a detector: how much weaker, shorter, noisier the recordings may become. Says on standard error how far it is;
/// false: stopped by the person.
[[nodiscard]] Result<bool> print_tolerances(std::ostream& out, std::span<const analysis::Recording> library,
                                            std::span<const analysis::DetectorSpec> detectors);
/// Returns whether every recording came out right and without a finding.
bool print_foreign_line(std::ostream& out, const std::string& name, const analysis::PreparedLibrary& library,
                        std::span<const daq::ForeignAnswer> answers);
/// The sentence, the numbers, the worst cases.
void print_before_after(std::ostream& out, const BeforeAfterFigure& figure);

}  // namespace coldstroke::gui
