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
#include "analysis/detector/recommendation.hpp"
#include "daq/detector/foreign_detector.hpp"

namespace coldstroke::gui {

void print_findings(std::ostream& out, std::span<const analysis::Finding> findings);
/// One line a detector, then each recording that came out wrong.
void print_side_by_side(std::ostream& out, std::span<const analysis::DetectorLine> lines,
                        std::span<const analysis::Recording> library);
[[nodiscard]] nlohmann::ordered_json side_by_side_json(std::span<const analysis::DetectorLine> lines,
                                                       std::span<const analysis::Recording> library);
/// Returns whether every recording came out right and without a finding.
bool print_foreign_line(std::ostream& out, const std::string& name, const analysis::PreparedLibrary& library,
                        std::span<const daq::ForeignAnswer> answers);
void print_recommendation(std::ostream& out, const analysis::Recommendation& recommendation);
/// The sentence, the tests, the worst cases. `margin_seconds`: a shift that is of no consequence.
[[nodiscard]] Result<void> print_before_after(std::ostream& out, const analysis::BeforeAfter& pairs, const std::string& before,
                                              const std::string& after, double margin_seconds, bool json);

}  // namespace coldstroke::gui
