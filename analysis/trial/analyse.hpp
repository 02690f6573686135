// SPDX-License-Identifier: GPL-3.0-or-later
//
// Traces of one ejection and the setup, to metrics, findings, criteria and a verdict. Definitions: docs/methods.md.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/firing/firing_chain.hpp"
#include "analysis/trial/filtered_trace.hpp"
#include "analysis/trial/metric.hpp"
#include "analysis/trial/trace.hpp"
#include "analysis/trial/trial_setup.hpp"

namespace coldstroke::analysis {

enum class Outcome { in_time, early, late, missed, unknown };
enum class Verdict { pass, fail, void_ };
[[nodiscard]] const char* word(Outcome outcome);  ///< "in_time" ...
[[nodiscard]] const char* word(Verdict verdict);  ///< "pass", "fail", "void"

/// Something the reader must know about the data or the event. `kind` is a fixed word listed in docs/methods.md.
struct Finding {
  std::string kind;     ///< e.g. "saturated", "lost_samples", "no_motion", "further_decision", "clock_disagreement"
  std::string channel;  ///< trace name, or empty
  std::string message;  ///< one sentence with the numbers
  bool operator==(const Finding&) const = default;
};

/// How one criterion came out.
struct Judgement {
  Criterion criterion;
  Verdict verdict = Verdict::void_;
  std::optional<double> value;   ///< the metric's, where there is one
  std::optional<double> margin;  ///< distance inside the nearest limit, negative outside, in the limit's unit
  std::string reason;            ///< one sentence: the value, the limit and the margin, or why it cannot be judged
  bool operator==(const Judgement&) const = default;
};

/// Instants on the record's time line, for marks on plots.
struct Marks {
  std::optional<double> release_commanded_seconds, first_motion_seconds, peak_seconds, separation_seconds, decision_seconds,
      apex_seconds;
  bool operator==(const Marks&) const = default;
};

struct TrialResult {
  Verdict verdict = Verdict::void_;
  Outcome outcome = Outcome::unknown;
  std::vector<Metric> metrics;  ///< all of kMetricNames, in that order
  std::vector<Finding> findings;
  std::vector<Judgement> criteria;
  Marks marks;
  std::vector<ShownFilter> filters;    ///< how the setup wants channels shown; the metrics are all of the unfiltered samples
  std::optional<FiringReport> firing;  ///< absent: the setup asks nothing of the firing chain, or there is no such channel
  bool operator==(const TrialResult&) const = default;
  [[nodiscard]] const Metric* metric(std::string_view name) const;
};

/// Pure: same arguments, same bits. Never throws on data: what cannot be had is absent, what cannot be judged is void.
/// A criterion that is conclusively violated makes the trial fail even where others are void.
[[nodiscard]] TrialResult analyse(const TraceSet& traces, const TrialSetup& setup);

}  // namespace coldstroke::analysis
