// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/judge.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace coldstroke::analysis {
namespace {

constexpr double kMarginSeconds = 5.0e-3;

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.5g", value);
  return text;
}

std::string limits(const Criterion& c) {
  if (c.lower && c.upper) return number(*c.lower) + " to " + number(*c.upper);
  return c.lower ? "at least " + number(*c.lower) : "at most " + number(*c.upper);
}

Judgement judge_metric(const Criterion& c, const std::vector<Metric>& metrics) {
  Judgement out{c, Verdict::void_, {}, {}, {}};
  const auto found = std::find_if(metrics.begin(), metrics.end(), [&](const Metric& m) { return m.name == c.metric; });
  if (found == metrics.end()) return out.reason = "There is no metric named " + c.metric + ".", out;
  if (!c.lower && !c.upper) return out.reason = "No limit is set.", out;
  if (const Absent* absent = std::get_if<Absent>(&found->value))
    return out.reason = c.metric + " is absent: " + absent->reason + ".", out;
  const Measured& m = *found->measured();
  out.value = m.value;
  const double below = c.lower ? m.value - *c.lower : INFINITY, above = c.upper ? *c.upper - m.value : INFINITY;
  out.margin = std::min(below, above);
  out.reason = number(m.value) + " " + found->unit + ", limit " + limits(c) + ", margin " + number(*out.margin) + ".";
  out.verdict = below >= 0.0 && above >= 0.0 ? Verdict::pass : Verdict::fail;
  if (m.beyond_calibration) out.reason += " Extrapolated: readings lie beyond the calibrated span.";
  if (!m.at_least) return out;
  // The truth is at or above the value: above the upper limit stays above, everything else under it is open.
  if (above < 0.0) return out;
  if (c.upper || below < 0.0) {
    out.verdict = Verdict::void_;
    out.reason = "The channel clipped: at least " + out.reason + " The truth may lie elsewhere.";
  }
  return out;
}

Judgement judge_detector(const Criterion& c, Outcome outcome) {
  Judgement out{c, Verdict::fail, {}, {}, std::string{"The detector's outcome is "} + word(outcome) + "."};
  if (outcome == Outcome::in_time) out.verdict = Verdict::pass;
  if (outcome == Outcome::unknown) out.verdict = Verdict::void_;
  return out;
}

template <class Count>
Judgement judge_samples(const Criterion& c, const Evidence& e, const char* what, Count count) {
  Judgement out{c, Verdict::void_, {}, {}, {}};
  if (!e.first_motion || !e.separation) return out.reason = "The stroke is not known: " + e.no_stroke + ".", out;
  const double from = e.first_motion->seconds - kMarginSeconds, to = e.separation->seconds + kMarginSeconds;
  std::size_t total = 0;
  std::string where;
  for (const Channel* channel : used_channels(e)) {
    const std::size_t here = count(*channel, from, to);
    total += here;
    if (here > 0) where += (where.empty() ? " in " : ", ") + channel->trace().name;
  }
  out.value = static_cast<double>(total);
  out.verdict = total == 0 ? Verdict::pass : Verdict::void_;
  out.reason = std::to_string(total) + " " + what + " samples in the stroke" + where + ".";
  return out;
}

Judgement judge_alignment(const Criterion& c, const Evidence& e, const DetectorRecord& d) {
  Judgement out{c, Verdict::void_, {}, {}, {}};
  if (!c.upper) return out.reason = "No limit is set.", out;
  std::optional<double> worst;
  if (e.acceleration.channel) worst = e.acceleration.channel->trace().alignment_standard_uncertainty_seconds;
  if (d.source != DecisionSource::none) worst = std::max(worst.value_or(0.0), d.alignment_standard_uncertainty_seconds);
  if (!worst || !std::isfinite(*worst)) return out.reason = "There is no record of the flight board to align.", out;
  out.value = *worst;
  out.margin = *c.upper - *worst;
  out.verdict = *out.margin >= 0.0 ? Verdict::pass : Verdict::void_;
  out.reason = "Clock alignment standard uncertainty " + number(*worst) + " s, limit at most " + number(*c.upper) + ", margin " +
               number(*out.margin) + ".";
  switch (e.clocks.answer) {
    case ClockCheck::Answer::agree:
      out.reason += " The traces bear it out: " + e.clocks.words + ".";
      break;
    case ClockCheck::Answer::not_made:
      out.reason += " The traces cannot check it: " + e.clocks.words + ".";
      break;
    case ClockCheck::Answer::disagree:
      out.verdict = Verdict::void_;
      out.reason += " The traces say otherwise. " + e.clocks.words;
      break;
  }
  return out;
}

Judgement judge_firing_chain(const Criterion& c, const std::optional<FiringReport>& firing) {
  Judgement out{c, Verdict::void_, {}, {}, {}};
  if (!firing) return out.reason = "There is no usable record of the dummy load's current, or the setup has no [igniter].", out;
  out.value = firing->amperes;
  out.verdict = firing->outcome == FiringOutcome::would_fire ? Verdict::pass : Verdict::fail;
  out.reason = std::string{word(firing->outcome)} + ": " + firing->reason;
  if (firing->doubt.empty()) return out;
  out.verdict = Verdict::void_;
  out.reason += " Not borne out: " + firing->doubt;
  return out;
}

void note_near(const char* boundary, double distance, double u, std::vector<Finding>& findings) {
  if (std::abs(distance) >= 2.0 * u) return;
  findings.push_back({"outcome_near_boundary", "",
                      "The decision is " + number(std::abs(distance) * 1.0e3) + " ms from " + boundary +
                          ", within twice its standard uncertainty of " + number(u * 1.0e3) +
                          " ms: the outcome could be the neighbouring one."});
}

}  // namespace

Outcome detector_outcome(const Evidence& e, const DetectorRecord& d, const Metric& latency, const TrialSetup& setup,
                         std::vector<Finding>& findings) {
  if (d.source == DecisionSource::none) return Outcome::unknown;
  for (std::size_t i = 1; i < d.decisions_seconds.size(); ++i)
    findings.push_back({"further_decision", "",
                        "The detector decided again at " + number(d.decisions_seconds[i]) + " s; the first decision counts."});
  const bool moved = e.first_motion.has_value();
  if (d.decisions_seconds.empty()) {
    if (!moved) return Outcome::unknown;
    const double needed = e.first_motion->seconds + setup.decision_deadline_seconds;
    if (d.record_end_seconds >= needed) return Outcome::missed;
    findings.push_back({"record_too_short", "",
                        "The flight board's record ends at " + number(d.record_end_seconds) +
                            " s, before the decision deadline at " + number(needed) +
                            " s: whether it would have decided is not known."});
    return Outcome::unknown;
  }
  if (!moved) {
    const Result<Channel, Miss>* seen = e.force.channel ? &e.force.channel : &e.acceleration.channel;
    const Witness& witness = e.force.channel ? e.force : e.acceleration;
    if (!*seen || witness.stroke || witness.stroke.error().kind != "no_motion") return Outcome::unknown;
    findings.push_back({"decision_without_motion", "", "The detector decided although nothing moved."});
    return Outcome::early;
  }
  const Measured* measured = latency.measured();
  if (measured == nullptr) return Outcome::unknown;
  const double value = measured->value, u = measured->standard_uncertainty;
  note_near("first motion", value, u, findings);
  if (value < 0.0) return Outcome::early;
  if (!(setup.decision_deadline_seconds > 0.0)) {
    findings.push_back({"no_deadline", "", "The setup names no decision deadline, so in time and late cannot be told apart."});
    return Outcome::unknown;
  }
  note_near("the decision deadline", value - setup.decision_deadline_seconds, u, findings);
  return value <= setup.decision_deadline_seconds ? Outcome::in_time : Outcome::late;
}

Judgement judge(const Criterion& criterion, const std::vector<Metric>& metrics, Outcome outcome, const Evidence& evidence,
                const DetectorRecord& detector, const std::optional<FiringReport>& firing) {
  switch (criterion.kind) {
    case Criterion::Kind::metric:
      return judge_metric(criterion, metrics);
    case Criterion::Kind::detector_in_time:
      return judge_detector(criterion, outcome);
    case Criterion::Kind::no_lost_samples:
      return judge_samples(criterion, evidence, "lost",
                           [](const Channel& c, double a, double b) { return c.lost_between(a, b); });
    case Criterion::Kind::nothing_saturated:
      return judge_samples(criterion, evidence, "saturated",
                           [](const Channel& c, double a, double b) { return c.saturated_between(a, b - kMarginSeconds); });
    case Criterion::Kind::alignment_within:
      return judge_alignment(criterion, evidence, detector);
    case Criterion::Kind::would_fire:
      return judge_firing_chain(criterion, firing);
  }
  return {criterion, Verdict::void_, {}, {}, "This kind of criterion is not known."};
}

Verdict verdict_of(const std::vector<Judgement>& judgements) {
  const auto any = [&](Verdict v) {
    return std::any_of(judgements.begin(), judgements.end(), [v](const Judgement& j) { return j.verdict == v; });
  };
  if (any(Verdict::fail)) return Verdict::fail;
  return judgements.empty() || any(Verdict::void_) ? Verdict::void_ : Verdict::pass;
}

}  // namespace coldstroke::analysis
