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
/// Begins with "PLAYBACK, no trial".
void print_playback(std::ostream& out, const daq::PlaybackReport& report, const daq::PlaybackRun& run,
                    std::size_t most_of_a_kind);
/// Each with the recording it is about; of a kind that comes often the first `most_of_a_kind`, and how many more there are.
void print_findings(std::ostream& out, std::span<const analysis::Finding> findings, std::size_t most_of_a_kind = 5);

}  // namespace coldstroke::gui
