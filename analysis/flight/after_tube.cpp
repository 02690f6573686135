// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/flight/after_tube.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/flight/climb.hpp"
#include "analysis/flight/tip_off.hpp"
#include "analysis/trial/budget.hpp"

namespace coldstroke::analysis {
namespace {

Metric absent(const char* name, const char* unit, std::string reason) { return {name, unit, "", Absent{std::move(reason)}}; }

Metric release_pressure(const Evidence& e, std::optional<double> release) {
  constexpr const char *kName = "release_pressure_pascals", *kUnit = "Pa";
  if (!e.supply) return absent(kName, kUnit, e.supply.error().reason);
  if (!e.first_motion) return absent(kName, kUnit, e.no_stroke);
  const Channel& c = *e.supply;
  const double until = release && *release <= e.first_motion->seconds ? *release : e.first_motion->seconds - 20.0e-3;
  const Level before = c.level_between(until - 50.0e-3, until);
  if (before.count < 3) return absent(kName, kUnit, "no supply pressure was recorded before the release");
  Budget budget;
  budget.add("supply pressure gain", c.trace().gain_standard_uncertainty, "1", before.mean);
  budget.add("supply pressure zero", c.trace().zero_standard_uncertainty, "Pa", 1.0);
  budget.add("supply pressure before the release",
             c.noise(before.standard_deviation) / std::sqrt(static_cast<double>(before.count)), "Pa", 1.0);
  return {kName, kUnit, "supply pressure, mean of the 50 ms up to the release", budget.measured(before.mean)};
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
    if (e.separation && climb.earliest_current_seconds)
      limits.not_before_seconds = std::max(e.first_motion->seconds, e.separation->seconds + *climb.earliest_current_seconds);
    if (e.separation && climb.latest_current_seconds)
      limits.not_after_seconds = e.separation->seconds + *climb.latest_current_seconds;
    out.firing = judge_firing(record->current, *setup.firing, limits);
    why = out.firing->reason.substr(0, out.firing->reason.size() - 1);
    if (out.firing->loop_too_high)
      out.findings.push_back({"firing_loop_resistance", record->channel.trace().name,
                              "The firing loop's resistance is above what the setup states, although a continuity check sees a "
                              "closed loop: look for a burnt or drifted part."});
  }
  for (const Row& row : kRows) {
    if (!out.firing || !((*out.firing).*row.value)) {
      out.metrics.push_back(absent(row.name, row.unit, why));
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
          out.metrics.push_back(absent(row.name, row.unit, e.no_stroke));
          continue;
        }
        value -= 0.5 * t.period_seconds + e.first_motion->seconds;
        budget.add("first motion", e.first_motion->standard_uncertainty, "s", -1.0);
      }
    }
    out.metrics.push_back({row.name, row.unit, row.method, budget.measured(value)});
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
  TipOff tip = tip_off_of(traces, setup, evidence, climb.onset_seconds, climb.onset_standard_uncertainty_seconds);
  out.metrics.insert(out.metrics.end(), tip.metrics.begin(), tip.metrics.end());
  out.findings.insert(out.findings.end(), tip.findings.begin(), tip.findings.end());
  add_firing(traces, setup, evidence, climb, out);
  return out;
}

}  // namespace coldstroke::analysis
