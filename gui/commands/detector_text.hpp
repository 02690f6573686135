// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the detector verbs print.
#pragma once

#include <nlohmann/json.hpp>
#include <ostream>
#include <span>
#include <string>
#include <vector>

#include "analysis/detector/agreement.hpp"
#include "daq/detector/foreign_detector.hpp"
#include "gui/window/detector/before_after_drawing.hpp"

namespace coldstroke::gui {

/// The library of a table or campaign file; what was left out of it, and why, goes to standard error.
[[nodiscard]] Result<std::vector<analysis::Recording>> read_library(const std::string& file);
/// One line a detector, then each recording that came out wrong.
void print_side_by_side(std::ostream& out, std::span<const analysis::DetectorLine> lines,
                        std::span<const analysis::Recording> library);
[[nodiscard]] nlohmann::ordered_json side_by_side_json(std::span<const analysis::DetectorLine> lines,
                                                       std::span<const analysis::Recording> library);
/// Returns whether every recording came out right and without a finding.
bool print_foreign_line(std::ostream& out, const std::string& name, const analysis::PreparedLibrary& library,
                        std::span<const daq::ForeignAnswer> answers);
/// The sentence, the numbers, the worst cases.
void print_before_after(std::ostream& out, const BeforeAfterFigure& figure);

}  // namespace coldstroke::gui
