// SPDX-License-Identifier: GPL-3.0-or-later
//
// Trials as lines of text for a terminal.
#pragma once

#include <nlohmann/json.hpp>
#include <ostream>
#include <string>
#include <vector>

#include "gui/report/report_trial.hpp"

namespace coldstroke::gui {

/// One line a trial: number, verdict, detector outcome, the main metrics with their uncertainty, and why.
void print_verdict_table(std::ostream& out, const std::vector<ReportTrial>& trials);
/// Every metric, criterion and finding of one trial.
void print_trial(std::ostream& out, const ReportTrial& trial);
/// The uncertainty budget of every metric, line by line: input, its standard uncertainty, what it adds to the metric's.
void print_budgets(std::ostream& out, const analysis::TrialResult& result);
/// The machine-readable form: of an archived trial its number, status and origin, then the result (docs/methods.md).
[[nodiscard]] nlohmann::ordered_json trial_json(const ReportTrial& trial);

}  // namespace coldstroke::gui
