// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/analyse.hpp"

#include <algorithm>
#include <string>

#include "analysis/flight/after_tube.hpp"
#include "analysis/flight/coast.hpp"
#include "analysis/trial/beyond_calibration.hpp"
#include "analysis/trial/evidence.hpp"
#include "analysis/trial/judge.hpp"
#include "analysis/trial/measure.hpp"
#include "analysis/trial/speed_agreement.hpp"

namespace coldstroke::analysis {
namespace {

Marks marks_of(const TraceSet& traces, const Evidence& e, const std::vector<Metric>& metrics, const TrialSetup& setup) {
  Marks out;
  out.release_commanded_seconds = traces.release_commanded_seconds;
  if (!traces.detector.decisions_seconds.empty()) out.decision_seconds = traces.detector.decisions_seconds.front();
  if (e.first_motion) out.first_motion_seconds = e.first_motion->seconds;
  if (!e.separation) return out;
  out.separation_seconds = e.separation->seconds;
  const Witness& witness = e.from_acceleration ? e.acceleration : e.force;
  out.peak_seconds = witness.channel->seconds(static_cast<double>(witness.stroke->peak_index));
  if (const Measured* speed = best_exit_speed(metrics))
    out.apex_seconds = e.separation->seconds + seconds_to_apex_without_drag(speed->value, setup.tilt_radians);
  return out;
}

void note_filters(const TraceSet& traces, TrialResult& out) {
  out.filters = shown_filters(traces);
  for (const ShownFilter& filter : out.filters)
    if (filter.refused)
      out.findings.push_back({"filter_refused", filter.channel,
                              "Channel frequency class " + std::to_string(filter.frequency_class) + " wants at least " +
                                  std::to_string(10 * filter.frequency_class) +
                                  " samples a second, more than this channel has; it is shown unfiltered."});
}

}  // namespace

const char* word(Outcome outcome) {
  switch (outcome) {
    case Outcome::in_time:
      return "in_time";
    case Outcome::early:
      return "early";
    case Outcome::late:
      return "late";
    case Outcome::missed:
      return "missed";
    case Outcome::unknown:
      return "unknown";
  }
  return "unknown";
}

const char* word(Verdict verdict) {
  switch (verdict) {
    case Verdict::pass:
      return "pass";
    case Verdict::fail:
      return "fail";
    case Verdict::void_:
      return "void";
  }
  return "void";
}

const Trace* find(const TraceSet& traces, Role role) {
  const auto found = std::find_if(traces.traces.begin(), traces.traces.end(), [role](const Trace& t) { return t.role == role; });
  return found == traces.traces.end() ? nullptr : &*found;
}

const Metric* TrialResult::metric(std::string_view name) const {
  const auto found = std::find_if(metrics.begin(), metrics.end(), [name](const Metric& m) { return m.name == name; });
  return found == metrics.end() ? nullptr : &*found;
}

TrialResult analyse(const TraceSet& traces, const TrialSetup& setup) {
  TrialResult out;
  const Evidence evidence = gather(traces, setup);
  Measures measures = measure(evidence, traces.detector, traces.release_commanded_seconds, setup);
  out.marks = marks_of(traces, evidence, measures.metrics, setup);
  out.metrics = std::move(measures.metrics);
  out.findings = evidence.findings;
  out.findings.insert(out.findings.end(), measures.findings.begin(), measures.findings.end());
  AfterTube after = after_tube(traces, setup, evidence, out.metrics);
  out.metrics.insert(out.metrics.end(), after.metrics.begin(), after.metrics.end());
  out.findings.insert(out.findings.end(), after.findings.begin(), after.findings.end());
  out.firing = std::move(after.firing);
  mark_beyond_calibration(traces, evidence, out.metrics, out.findings);
  note_filters(traces, out);
  out.outcome = detector_outcome(evidence, traces.detector, *out.metric("detector_latency_seconds"), setup, out.findings);
  for (const Criterion& criterion : setup.criteria)
    out.criteria.push_back(judge(criterion, out.metrics, out.outcome, evidence, traces.detector, out.firing));
  if (out.criteria.empty())
    out.findings.push_back({"no_criteria", "", "The setup sets no criteria, so there is nothing to judge by."});
  out.verdict = verdict_of(out.criteria);
  return out;
}

}  // namespace coldstroke::analysis
