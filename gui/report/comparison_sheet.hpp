// SPDX-License-Identifier: GPL-3.0-or-later
//
// Two configurations over the real trials each ran: which trials are compared, what came of it, and the worst of each with
// traces.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "analysis/statistics/comparison.hpp"
#include "daq/record/evidence_trials.hpp"
#include "gui/report/sheet.hpp"

namespace coldstroke::gui {

struct ComparisonWish {
  std::filesystem::path first, second;  ///< no second: the last two configurations of the first
  std::string metric = "detector_latency_seconds";
  double margin = 0.0;  ///< in the metric's shown unit; a shift of at most this is of no consequence; 0: sameness is not tested
};

/// One configuration's real trials.
struct TrialsOfSide {
  std::filesystem::path campaign;
  std::string label;                ///< "trials 1 to 4"
  std::vector<std::int64_t> worst;  ///< numbers of its trials, the worst first, three at most
  std::vector<std::string> lines;   ///< of the same trials: number, value, verdict sentence
};

struct TrialComparison {
  analysis::statistics::Comparison answer;
  TrialsOfSide first, second;
};

/// Two files: their present runs. Complains about an unknown metric and where there is nothing to compare with, and when stopped.
[[nodiscard]] Result<TrialComparison> compare_campaigns(const ComparisonWish& wish, const daq::Progress& progress = {});

/// The answer's numbers, then the worst trials of each side.
[[nodiscard]] std::vector<std::string> lines_under(const TrialComparison& comparison);

/// Sentence, numbers, and the worst trials of each side with their traces. Complaint: a campaign cannot be read.
[[nodiscard]] Result<Sheet> comparison_sheet(const TrialComparison& comparison);

}  // namespace coldstroke::gui
