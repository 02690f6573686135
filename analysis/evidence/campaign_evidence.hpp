// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a campaign's trials show together: the count since the last change, the demonstration, limits, drift, days.
// Pure: same trials, same bits. docs/statistics.md, "A campaign weighed".
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "analysis/statistics/between_days.hpp"
#include "analysis/statistics/comparison.hpp"
#include "analysis/statistics/control_chart.hpp"
#include "analysis/statistics/demonstration_statement.hpp"
#include "analysis/statistics/limit.hpp"
#include "analysis/statistics/outlier.hpp"
#include "analysis/statistics/trend.hpp"
#include "analysis/trial/analyse.hpp"

namespace coldstroke::analysis {

/// One trial as evidence, in the order they were run.
struct EvidenceTrial {
  statistics::TrialRecord record;
  TrialResult result;  ///< meaningless unless `judged`
  bool judged = false;
  double elapsed_hours = 0.0;                ///< from the start of the first trial
  std::string day;                           ///< trials with the same words were run on one day
  std::optional<double> charge_pascals;      ///< gauge, just before release
  std::optional<double> temperature_kelvin;  ///< absent: no such channel
};

/// A metric to be limited and watched, with everything fixed before the first trial.
struct WatchedMetric {
  std::string metric;              ///< name in the results
  double per_unit = 1.0;           ///< shown value = metric value times this
  statistics::LimitRequest limit;  ///< side, content, words; `never_reached` is filled from the trials
};
/// Latency and peak g from above, exit speed and ignition margin (time from thrust onset to apex) from below; at least 0.95 of
/// ejections at 95 %.
[[nodiscard]] std::vector<WatchedMetric> usual_watched_metrics();

/// One metric over the counted trials of the present run, in the shown unit.
struct MetricEvidence {
  WatchedMetric asked;
  std::vector<std::size_t> places;             ///< of the trials that have a value
  std::vector<double> values;                  ///< in the order of `places`
  std::size_t never_reached = 0;               ///< judged trials whose detector never decided, for a latency
  Result<statistics::LimitReport> limit;       ///< widened by the common uncertainty of these trials
  Result<statistics::LimitReport> both_sides;  ///< the same, two-sided
  Result<statistics::ControlChart> chart;      ///< Western Electric rules, limits from all values
  Result<statistics::Trend> by_number, by_time;
  Result<statistics::Correlation> with_charge, with_temperature;
  Result<statistics::RunsTest> runs;
  Result<statistics::Dependence> dependence;
  Result<statistics::ExtremeDeviates> outliers;  ///< a label and nothing else
  Result<statistics::BetweenDays> days;
};

struct CampaignEvidence {
  statistics::TrialCount count;
  statistics::DemonstrationStatement statement;
  std::vector<std::size_t> counted;  ///< places of the judged trials in the present run's count
  std::vector<MetricEvidence> metrics;
};

/// Standard uncertainty, in the metric's unit, of what several of these results have in common, as calibration, masses and stated
/// delays: it does not show in their scatter. An input whose stated uncertainty is the same number in another result's budget is
/// taken as common; what is found anew in each trial, such as noise, practically never is. The largest of all results counts.
[[nodiscard]] double common_standard_uncertainty(std::span<const Measured* const> results);

/// Set before the first trial.
struct EvidenceRequest {
  std::vector<statistics::Goal> goals{{0.90, 0.90}, {0.90, 0.95}, {0.95, 0.95}};
  std::vector<WatchedMetric> metrics = usual_watched_metrics();
};

/// Refuses what count_trials and state_demonstration refuse. No trial, one trial, all void, all failed or values without scatter
/// give a statement that shows nothing and, per test, the reason why there is none.
[[nodiscard]] Result<CampaignEvidence> weigh_campaign(std::span<const EvidenceTrial> trials, const EvidenceRequest& request = {});

/// The judged trials of one run of the count as a side of a comparison; `metric` in the shown unit.
[[nodiscard]] statistics::ComparedSide compared_side(std::span<const EvidenceTrial> trials, const statistics::TrialRun& run,
                                                     const WatchedMetric& metric, std::string label);

/// Places of the same trials, the worst first: not decided in time in the order they were run, then by the value, from the
/// largest (limited from below: the smallest), last those without one.
[[nodiscard]] std::vector<std::size_t> worst_first(std::span<const EvidenceTrial> trials, const statistics::TrialRun& run,
                                                   const WatchedMetric& metric);

/// What so many more passes would prove, after the trials and failures already counted.
struct Outlook {
  std::int64_t more_passes = 0;
  std::vector<statistics::ReliabilityBound> bounds;  ///< one a confidence asked for
};
[[nodiscard]] Result<std::vector<Outlook>> outlook(std::int64_t trials, std::int64_t failures,
                                                   std::span<const std::int64_t> more_passes,
                                                   std::span<const double> confidences);

}  // namespace coldstroke::analysis
