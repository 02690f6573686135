// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/evidence/campaign_evidence.hpp"

#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>

namespace coldstroke::analysis {
namespace {

using statistics::ChargeCheck;
using statistics::CountedVerdict;
using testing::HasSubstr;

EvidenceTrial trial(std::size_t number, CountedVerdict verdict = CountedVerdict::pass, double latency_seconds = -1.0) {
  EvidenceTrial one;
  one.record.name = std::to_string(number);
  one.record.configuration = {"k1", {{"firmware", "3f9c", "3f9c"}, {"mass", "1.5", "1.5 kg"}}};
  one.record.verdict = verdict;
  one.record.charge = ChargeCheck::inside;
  one.judged = verdict == CountedVerdict::pass || verdict == CountedVerdict::fail;
  one.elapsed_hours = 0.25 * static_cast<double>(number);
  one.day = number <= 15 ? "first" : "second";
  const double wave = std::sin(2.4 * static_cast<double>(number));
  one.charge_pascals = 7.0e5 + 1.0e3 * wave;
  const double latency = latency_seconds > 0.0
                             ? latency_seconds
                             : 0.018 + 0.0005 * wave + 0.0002 * std::cos(5.1 * wave * static_cast<double>(number));
  one.result.outcome = verdict == CountedVerdict::fail ? Outcome::missed : Outcome::in_time;
  if (verdict == CountedVerdict::pass)
    one.result.metrics.push_back({"detector_latency_seconds", "s", "", Measured{latency, 0.0, latency, latency, false, {}}});
  return one;
}

std::vector<EvidenceTrial> passes(std::size_t count) {
  std::vector<EvidenceTrial> all;
  for (std::size_t k = 1; k <= count; ++k) all.push_back(trial(k));
  return all;
}

TEST(CampaignEvidence, watches_only_metrics_that_there_are) {
  for (const WatchedMetric& watched : usual_watched_metrics())
    EXPECT_NE(std::ranges::find(kMetricNames, watched.metric), std::end(kMetricNames)) << watched.metric;
}

TEST(CampaignEvidence, thirty_passes_show_090_at_95_percent_and_say_what_is_not_shown) {
  const auto trials = passes(30);
  const auto evidence = weigh_campaign(trials).value();
  EXPECT_THAT(evidence.statement.sentence, HasSubstr("30 of 30 passed"));
  EXPECT_THAT(evidence.statement.sentence, HasSubstr("shows 0.90 at 95 %; 29 more for 0.95 at 95 %"));
  const MetricEvidence& latency = evidence.metrics.front();
  EXPECT_EQ(latency.values.size(), 30U);
  ASSERT_TRUE(latency.limit);
  ASSERT_TRUE(latency.limit->chosen);
  EXPECT_GT(*latency.limit->chosen->upper, 18.3);  // in ms, as asked
  EXPECT_LT(*latency.limit->chosen->upper, 21.0);
  EXPECT_TRUE(latency.chart);
  EXPECT_TRUE(latency.days);
  EXPECT_GT(latency.with_charge->coefficient, 0.5);  // made so
  EXPECT_FALSE(latency.with_temperature);
}

TEST(CampaignEvidence, a_changed_part_restarts_the_count_and_closes_the_metrics_too) {
  auto trials = passes(30);
  for (std::size_t k = 20; k < 30; ++k) {
    trials[k].record.configuration = {"k2", {{"firmware", "41aa", "41aa"}, {"mass", "1.5", "1.5 kg"}}};
  }
  const auto evidence = weigh_campaign(trials).value();
  ASSERT_EQ(evidence.count.runs.size(), 2U);
  EXPECT_THAT(evidence.count.runs[1].begun_by->words, HasSubstr("firmware"));
  EXPECT_THAT(evidence.statement.sentence, HasSubstr("10 of 10 passed since firmware 41aa"));
  EXPECT_EQ(evidence.metrics.front().values.size(), 10U);
}

TEST(CampaignEvidence, silent_detectors_are_beyond_every_limit) {
  auto trials = passes(30);
  trials[12] = trial(13, CountedVerdict::fail);
  const auto evidence = weigh_campaign(trials).value();
  EXPECT_EQ(evidence.metrics.front().never_reached, 1U);
  EXPECT_FALSE(evidence.metrics.front().limit->distribution_free);  // 30 do not carry a 95/95 limit
  EXPECT_THAT(evidence.statement.sentence, HasSubstr("29 of 30"));
}

/// As `passes`, with a budget: a calibration that all share, and noise found anew in each trial.
std::vector<EvidenceTrial> passes_with_budget(double common_seconds, double noise_seconds) {
  auto trials = passes(30);
  for (std::size_t k = 0; k < trials.size(); ++k) {
    auto& measured = std::get<Measured>(trials[k].result.metrics.front().value);
    const double noise = noise_seconds * (1.0 + 0.01 * static_cast<double>(k));
    measured.budget = {{"gain", 0.01, "1", common_seconds}, {"delay", 0.02, "s", common_seconds}, {"noise", noise, "s", noise}};
  }
  return trials;
}

TEST(CampaignEvidence, limits_are_widened_by_what_all_trials_have_in_common_and_not_by_what_scatters) {
  const double plain = *weigh_campaign(passes_with_budget(0.0, 0.0)).value().metrics.front().limit->chosen->upper;
  const auto latency = weigh_campaign(passes_with_budget(0.0003, 0.01)).value().metrics.front();
  EXPECT_EQ(*latency.limit->chosen->upper, plain);
  ASSERT_TRUE(latency.limit->upper_widened);
  EXPECT_NEAR(*latency.limit->upper_widened - plain, 2.0 * 0.3 * std::sqrt(2.0), 1e-12) << "k = 2, two inputs of 0.3 ms";
  EXPECT_THAT(latency.limit->sentence, HasSubstr("widened by 0.85 ms for what all trials have in common"));
}

TEST(CampaignEvidence, a_calibration_corrected_for_some_trials_still_widens_by_the_larger_one) {
  auto trials = passes_with_budget(0.0003, 0.01);
  for (std::size_t k = 10; k < 30; ++k)
    for (auto& line : std::get<Measured>(trials[k].result.metrics.front().value).budget)
      if (line.source == "gain") line = {"gain", 0.04, "1", 0.0012};
  const auto limit = weigh_campaign(trials).value().metrics.front().limit;
  EXPECT_NEAR(*limit->upper_widened - *limit->chosen->upper, 2.0 * std::hypot(0.3, 1.2), 1e-12);
}

TEST(CampaignEvidence, each_limit_is_also_given_on_both_sides) {
  const auto latency = weigh_campaign(passes(30)).value().metrics.front();
  ASSERT_TRUE(latency.both_sides);
  ASSERT_TRUE(latency.both_sides->chosen);
  EXPECT_GT(*latency.both_sides->chosen->upper, *latency.limit->chosen->upper) << "the larger factor";
  EXPECT_LT(*latency.both_sides->chosen->lower, latency.limit->description.mean);
  EXPECT_THAT(latency.both_sides->sentence, HasSubstr("between"));
}

TEST(CampaignEvidence, a_charge_outside_its_band_is_in_no_count_and_no_limit) {
  auto trials = passes(12);
  trials[5].record.charge = ChargeCheck::outside;
  const auto evidence = weigh_campaign(trials).value();
  EXPECT_EQ(evidence.counted.size(), 6U);
  EXPECT_TRUE(evidence.count.runs.back().begun_by->charge_left_band);
}

TEST(CampaignEvidence, nothing_one_all_void_all_failed_and_no_scatter_are_said_and_shown_as_nothing) {
  EXPECT_THAT(weigh_campaign({}).value().statement.sentence, HasSubstr("nothing"));
  const auto one = passes(1);
  EXPECT_FALSE(weigh_campaign(one).value().metrics.front().limit);
  std::vector<EvidenceTrial> voids, fails, same;
  for (std::size_t k = 1; k <= 10; ++k) {
    voids.push_back(trial(k, CountedVerdict::void_));
    fails.push_back(trial(k, CountedVerdict::fail));
    same.push_back(trial(k, CountedVerdict::pass, 0.018));
  }
  EXPECT_THAT(weigh_campaign(voids).value().statement.sentence, HasSubstr("nothing"));
  EXPECT_EQ(*weigh_campaign(voids).value().count.whole.void_share(), 1.0);
  EXPECT_THAT(weigh_campaign(fails).value().statement.sentence, HasSubstr("0 of 10"));
  const auto flat = weigh_campaign(same).value();
  EXPECT_FALSE(flat.metrics.front().limit);
  EXPECT_FALSE(flat.metrics.front().chart);
  EXPECT_THAT(flat.statement.sentence, HasSubstr("10 of 10"));
}

TEST(CampaignEvidence, a_trial_voided_by_hand_stays_named_and_its_failure_is_counted_beside) {
  auto trials = passes(30);
  trials[7] = trial(8, CountedVerdict::void_);
  trials[7].record.hand_void = statistics::HandVoid{CountedVerdict::fail, "the hose burst"};
  const auto evidence = weigh_campaign(trials).value();
  EXPECT_THAT(evidence.statement.notes, testing::Contains(HasSubstr("the hose burst")));
  ASSERT_FALSE(evidence.statement.bounds_if_voided_had_failed.empty());
  EXPECT_LT(evidence.statement.bounds_if_voided_had_failed.back().at_least, evidence.statement.bounds.back().at_least);
}

/// Success-run figures of the published table: 22 passes for 0.90 at 90 %, 29 for 0.90 at 95 %, 59 for 0.95 at 95 %.
TEST(Outlook, says_what_more_passes_would_prove) {
  const std::vector<std::int64_t> more{0, 7, 37};
  const std::vector<double> confidences{0.90, 0.95};
  const auto all = outlook(22, 0, more, confidences).value();
  EXPECT_NEAR(all[0].bounds[0].at_least, 0.900628020211, 1e-9);
  EXPECT_NEAR(all[1].bounds[1].at_least, 0.901855372323, 1e-9);
  EXPECT_GE(all[2].bounds[1].at_least, 0.95);
}

TEST(ComparedSide, takes_the_judged_trials_of_a_run) {
  auto trials = passes(10);
  trials[3] = trial(4, CountedVerdict::fail);
  trials[4] = trial(5, CountedVerdict::void_);
  const auto evidence = weigh_campaign(trials).value();
  const auto side = compared_side(trials, evidence.count.runs.back(), usual_watched_metrics().front(), "all");
  EXPECT_EQ(side.trials, 9);
  EXPECT_EQ(side.hits, 8);
  EXPECT_EQ(side.values.size(), 8U);
}

TEST(WorstFirst, names_what_was_not_decided_in_time_and_then_the_latest) {
  auto trials = passes(6);
  trials[3] = trial(4, CountedVerdict::fail);
  trials[4] = trial(5, CountedVerdict::void_);
  const auto evidence = weigh_campaign(trials).value();
  const auto latency = usual_watched_metrics().front();
  const auto places = worst_first(trials, evidence.count.runs.back(), latency);
  ASSERT_EQ(places.size(), 5U) << "the void one is not judged";
  EXPECT_EQ(places.front(), 3U);
  const auto value = [&](std::size_t place) { return trials[place].result.metric(latency.metric)->measured()->value; };
  for (std::size_t k = 2; k < places.size(); ++k) EXPECT_GE(value(places[k - 1]), value(places[k]));
  auto speed = latency;  // the same numbers, but the small ones are the bad ones
  speed.limit.side = statistics::LimitSide::lower;
  const auto other = worst_first(trials, evidence.count.runs.back(), speed);
  EXPECT_EQ(other.front(), 3U);
  for (std::size_t k = 2; k < other.size(); ++k) EXPECT_LE(value(other[k - 1]), value(other[k]));
}

}  // namespace
}  // namespace coldstroke::analysis
