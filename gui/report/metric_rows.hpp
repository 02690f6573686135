// SPDX-License-Identifier: GPL-3.0-or-later
//
// A trial's result as rows of a table: the same rows on screen and on paper.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "gui/report/report_trial.hpp"

namespace coldstroke::gui {

/// Where a value lies between its limits, all in the shown unit. `low`..`high` is the stretch worth drawing.
struct MarginScale {
  double low = 0.0, high = 1.0;
  std::optional<double> lower, upper;
  double value = 0.0, interval_low = 0.0, interval_high = 0.0;
  /// 0..1 along the stretch, clamped to it.
  [[nodiscard]] double place(double shown) const;
};

struct MetricRow {
  std::string name;     ///< of the metric, empty for a criterion that has none
  std::string title;    ///< "Peak acceleration"
  std::string value;    ///< "31.2 ± 0.4", "≥ 50.0", an outcome word, or empty if absent; "!" behind it: extrapolated
  std::string unit;     ///< of value and limit
  std::string limit;    ///< "24 to 40", "≤ 40", "≥ 12", a condition, or empty
  std::string absent;   ///< the reason, if there is no value
  std::string reason;   ///< how the criterion came out, one sentence; empty without criterion
  std::string meaning;  ///< what the word means and how the value was got
  std::optional<MarginScale> margin;
  std::optional<analysis::Verdict> verdict;  ///< of the criterion in this row
};

/// Criteria first, in the setup's order, then the metrics that no criterion uses. Never empty for a judged trial.
[[nodiscard]] std::vector<MetricRow> metric_rows(const analysis::TrialResult& result);

/// A limit as a person typed it: no digits that say nothing.
[[nodiscard]] std::string limit_number(double value);
/// "≤ 40 ms" of a criterion as people read it; empty without limits.
[[nodiscard]] std::string limit_text(const analysis::Criterion& criterion);

/// The verdict as one sentence: what decided it.
[[nodiscard]] std::string verdict_sentence(const ReportTrial& trial);

}  // namespace coldstroke::gui
