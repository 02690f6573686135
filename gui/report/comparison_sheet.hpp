// SPDX-License-Identifier: GPL-3.0-or-later
//
// Two configurations over the real trials each ran: which trials are compared, what came of it, and the worst of each with
// traces.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "analysis/statistics/comparison.hpp"
#include "daq/record/evidence_trials.hpp"
#include "gui/report/report_trial.hpp"
#include "gui/report/sheet.hpp"

namespace coldstroke::gui {

/// One configuration's real trials.
struct TrialsOfSide {
  std::filesystem::path campaign;
  analysis::statistics::ComparedSide compared;
  std::vector<std::int64_t> worst;  ///< numbers of its trials, the worst first, a few
};

struct TrialComparison {
  TrialsOfSide first, second;
  analysis::statistics::Comparison answer;
};

/// Which metric is compared, and the shift of no consequence in its shown unit (0: sameness is not tested), fixed before the
/// trials.
struct TrialComparisonRequest {
  std::string metric = "detector_latency_seconds";
  double margin = 0.0;
};

/// The present runs of two campaigns; without `second` the last two runs of the first. Complaint: a metric that is none, a
/// campaign without two runs or without a trial, stopped by `progress`.
[[nodiscard]] Result<TrialComparison> compare_trials(const std::filesystem::path& first,
                                                     const std::optional<std::filesystem::path>& second,
                                                     const TrialComparisonRequest& request, const daq::Progress& progress = {});

/// A trial of a side in one line: number, verdict sentence, value.
[[nodiscard]] std::string worst_line(const ReportTrial& trial, const std::string& metric);

/// Sentence, numbers, and the worst trials of each side with their traces. Complaint: a campaign cannot be read.
[[nodiscard]] Result<Sheet> comparison_sheet(const TrialComparison& comparison, const TrialComparisonRequest& request);

}  // namespace coldstroke::gui
