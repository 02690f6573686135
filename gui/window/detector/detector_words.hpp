// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the verbs print and the page shows alike.
#pragma once

#include <ostream>
#include <string>

#include "analysis/detector/recommendation.hpp"
#include "daq/playback/playback_report.hpp"

namespace coldstroke::gui {

/// Reason, margins, missing evidence, and that a person decides.
void print_recommendation(std::ostream& out, const analysis::Recommendation& recommendation);
/// Begins with "PLAYBACK, no trial"; `most_findings` of the findings and how many more there are.
void print_playback(std::ostream& out, const daq::PlaybackReport& report, const daq::PlaybackRun& run, std::size_t most_findings);
[[nodiscard]] std::string playback_json(const daq::PlaybackReport& report, const daq::PlaybackRun& run);
void print_findings(std::ostream& out, std::span<const analysis::Finding> findings);

}  // namespace coldstroke::gui
