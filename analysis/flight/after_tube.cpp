// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/flight/after_tube.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/flight/climb.hpp"
#include "analysis/flight/tip_off.hpp"
#include "analysis/statistics/wording.hpp"
#include "analysis/trial/budget.hpp"
#include "analysis/trial/supply.hpp"

namespace coldstroke::analysis {
namespace {

Metric absent_metric(const char* name, const char* unit, std::string reason) {
  return {name, unit, "", Absent{std::move(reason)}};
}

Metric release_pressure(const Evidence& e, std::optional<double> release) {
  constexpr const char *kName = "release_pressure_pascals", *kUnit = "Pa";
  const Made made = release_pressure_of(e, release);
  if (!made) return absent_metric(kName, kUnit, made.error().reason);
  return {kName, kUnit, made->method, made->budget.measured(made->value)};
}

/// The channel of the dummy load's current and what its noise and zero can show.
struct FiringRecord {
  Channel channel;
  FiringCurrent current;
};

std::optional<FiringRecord> firing_record(const TraceSet& traces, const FiringSetup& setup, AfterTube& out, std::string& why) {
  const Trace* trace = find(traces, Role::dummy_load_current);
  if (trace == nullptr) return why = "no dummy-load current was recorded", std::nullopt;
  auto channel = Channel::make(*trace);
  if (!channel) {
    why = channel.error().reason;
    out.findings.push_back({channel.error().kind, trace->name, channel.error().reason + "; this trace is not used."});
    return std::nullopt;
  }
  // The quietest tenth of the record, so that the pulse itself does not count as noise.
  double noise = 1.0e300;
  const auto values = channel->values();
  const std::size_t part = std::max<std::size_t>(values.size() / 10, 2);
  for (std::size_t i = 0; i + part <= values.size(); i += part)
    noise = std::min(noise, level(values.subspan(i, part)).standard_deviation);
  const double floor =
      std::max({6.0 * channel->noise(noise) + 3.0 * trace->zero_standard_uncertainty, 0.02 * setup.all_fire_amperes});
  FiringRecord made{std::move(*channel), {}};
  made.current = {made.channel.values(), trace->start_seconds, trace->period_seconds, floor};
  return made;
}

/// What lost or clipped samples leave open. A gap that the rule bridges, to 1 ms, is none.
std::string firing_doubt(const Channel& channel, const FiringReport& report) {
  using enum FiringOutcome;
  const bool fires = report.outcome == would_fire || report.outcome == too_early || report.outcome == too_late;
  // Another pulse may hide in a gap before the one that fires, and anywhere if none does.
  const double until = fires && report.end_seconds ? *report.end_seconds : channel.seconds(static_cast<double>(channel.size()));
  for (const IndexRun& gap : channel.trace().missing) {
    const double seconds = static_cast<double>(gap.last - gap.first) * channel.period();
    if (seconds > 1.001e-3 && channel.seconds(static_cast<double>(gap.first)) < until)
      return "the record of the dummy-load current has a gap of " + statistics::significant(seconds * 1.0e3, 3) + " ms" +
             ", in which anything may have flowed.";
  }
  if (!fires && report.start_seconds && channel.saturated_between(*report.start_seconds, *report.end_seconds) > 0)
    return "the dummy-load current clipped, so it may have been larger than what is shown.";
  return {};
}

void add_firing(const TraceSet& traces, const TrialSetup& setup, const Evidence& e, const Climb& climb, AfterTube& out) {
  struct Row {
    const char *name, *unit, *method;
    std::optional<double> FiringReport::*value;
  };
  static constexpr Row kRows[] = {
      {"firing_current_amperes", "A", "dummy load: largest mean over the hold time", &FiringReport::amperes},
      {"firing_hold_seconds", "s", "dummy load: at or above margin times all-fire into the hot bridge, gaps to 1 ms bridged",
       &FiringReport::held_seconds},
      {"firing_start_seconds", "s", "dummy load: first current less first motion", &FiringReport::start_seconds},
      {"firing_action_ampere2_seconds", "A2 s", "dummy load: integral of the squared current",
       &FiringReport::action_ampere2_seconds}};
  std::string why = "the setup has no [igniter] to judge the firing chain by";
  std::optional<FiringRecord> record;
  if (setup.firing) record = firing_record(traces, *setup.firing, out, why);
  if (record) {
    FiringLimits limits;
    if (e.first_motion) limits.not_before_seconds = e.first_motion->seconds;
    const auto said = [&](const char* kind) { return std::ranges::find(e.findings, kind, &Finding::kind) != e.findings.end(); };
    limits.never_left = !e.separation && (said("no_motion") || said("never_left"));
    limits.no_window = climb.no_window;
    if (e.separation && climb.earliest_current_seconds)
      limits.not_before_seconds = std::max(e.first_motion->seconds, e.separation->seconds + *climb.earliest_current_seconds);
    if (e.separation && climb.latest_current_seconds)
      limits.not_after_seconds = e.separation->seconds + *climb.latest_current_seconds;
    out.firing = judge_firing(record->current, *setup.firing, limits);
    out.firing->doubt = firing_doubt(record->channel, *out.firing);
    if (!out.firing->doubt.empty())
      out.findings.push_back({"firing_record_doubtful", record->channel.trace().name, "Not borne out: " + out.firing->doubt});
    if (out.firing->reversed)
      out.findings.push_back({"firing_current_reversed", record->channel.trace().name,
                              "The channel shows the current with the other sign; it was judged by its size. Turn the sensor's "
                              "leads, or the sign of its calibration."});
    why = out.firing->reason.substr(0, out.firing->reason.size() - 1);
    if (out.firing->loop_too_high)
      out.findings.push_back({"firing_loop_resistance", record->channel.trace().name,
                              "The firing loop's resistance is above what the setup states, although a continuity check sees a "
                              "closed loop: look for a burnt or drifted part."});
  }
  for (const Row& row : kRows) {
    if (!out.firing || !((*out.firing).*row.value)) {
      out.metrics.push_back(absent_metric(row.name, row.unit, why));
      continue;
    }
    double value = *((*out.firing).*row.value);
    const Trace& t = record->channel.trace();
    const auto samples = std::max(1.0, setup.firing->hold_seconds / t.period_seconds);
    Budget budget;
    if (row.value == &FiringReport::amperes) {
      budget.add("dummy-load current gain", t.gain_standard_uncertainty, "1", value);
      budget.add("dummy-load current zero", t.zero_standard_uncertainty, "A", 1.0);
      budget.add("dummy-load current noise", record->current.floor_amperes / 6.0 / std::sqrt(samples), "A", 1.0);
    } else if (row.value == &FiringReport::action_ampere2_seconds) {
      budget.add("dummy-load current gain", t.gain_standard_uncertainty, "1", 2.0 * value);
      budget.add("dummy-load current zero", t.zero_standard_uncertainty, "A",
                 2.0 * value / std::max(1.0e-9, *out.firing->amperes));
      budget.add("end of the pulse between samples", t.period_seconds / std::sqrt(12.0), "s",
                 *out.firing->amperes * *out.firing->amperes, Spread::rectangular);
    } else {
      // An edge lies anywhere between two samples, the first one before what is seen.
      budget.add("first current between samples", t.period_seconds / std::sqrt(12.0), "s", 1.0, Spread::rectangular);
      if (row.value == &FiringReport::held_seconds) {
        budget.add("last current between samples", t.period_seconds / std::sqrt(12.0), "s", 1.0, Spread::rectangular);
        // A filter of up to a sample's length shows a high level later than it shows its end.
        budget.add("filter of the dummy-load current", t.period_seconds / std::sqrt(12.0), "s", 1.0, Spread::rectangular);
      }
      if (row.value == &FiringReport::start_seconds) {
        if (!e.first_motion) {
          out.metrics.push_back(absent_metric(row.name, row.unit, e.no_stroke));
          continue;
        }
        value -= 0.5 * t.period_seconds + e.first_motion->seconds;
        budget.add("first motion", e.first_motion->standard_uncertainty, "s", -1.0);
      }
    }
    const bool clipped = (row.value == &FiringReport::amperes || row.value == &FiringReport::action_ampere2_seconds) &&
                         record->channel.saturated_between(*out.firing->start_seconds, *out.firing->end_seconds) > 0;
    out.metrics.push_back({row.name, row.unit, row.method, budget.measured(value, clipped)});
  }
}

}  // namespace

AfterTube after_tube(const TraceSet& traces, const TrialSetup& setup, const Evidence& evidence,
                     const std::vector<Metric>& stroke_metrics) {
  AfterTube out;
  out.metrics.push_back(release_pressure(evidence, traces.release_commanded_seconds));
  Climb climb = climb_of(setup, stroke_metrics);
  out.metrics.insert(out.metrics.end(), climb.metrics.begin(), climb.metrics.end());
  out.findings = std::move(climb.findings);
  TipOff tip = tip_off_of(setup, evidence, climb.onset_seconds, climb.onset_standard_uncertainty_seconds);
  out.metrics.insert(out.metrics.end(), tip.metrics.begin(), tip.metrics.end());
  out.findings.insert(out.findings.end(), tip.findings.begin(), tip.findings.end());
  add_firing(traces, setup, evidence, climb, out);
  return out;
}

}  // namespace coldstroke::analysis
