// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/judge.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/analysis/trial/clean_trial.hpp"

namespace coldstroke::analysis {
namespace {

CleanTrial ejection() {
  CleanPulse p;
  p.acceleration = [](double) { return 200.0; };
  p.stroke_metres = 0.25;
  return clean_trial(p);
}

TrialResult decided(std::vector<double> after_motion, double record_end = 1.0, double deadline = 0.030) {
  CleanTrial t = ejection();
  t.traces.detector.decisions_seconds.clear();
  for (const double seconds : after_motion) t.traces.detector.decisions_seconds.push_back(kMotionAt + seconds);
  t.traces.detector.record_end_seconds = record_end;
  t.setup.decision_deadline_seconds = deadline;
  t.setup.criteria = {{Criterion::Kind::detector_in_time, "detector", "", {}, {}}};
  return analyse(t.traces, t.setup);
}

TEST(Outcome, FollowsItsDefinitions) {
  EXPECT_EQ(decided({-0.010}).outcome, Outcome::early);
  EXPECT_EQ(decided({0.010}).outcome, Outcome::in_time);
  EXPECT_EQ(decided({0.031}).outcome, Outcome::late);
  EXPECT_EQ(decided({0.500}).outcome, Outcome::late);
  EXPECT_EQ(decided({}).outcome, Outcome::missed);
  EXPECT_EQ(decided({0.010}).verdict, Verdict::pass);
  for (const TrialResult& r : {decided({-0.010}), decided({0.5}), decided({})}) EXPECT_EQ(r.verdict, Verdict::fail);
}

TEST(Outcome, TheFirstDecisionCountsAndTheRestAreFindings) {
  const TrialResult r = decided({0.012, 0.4});
  EXPECT_EQ(r.outcome, Outcome::in_time);
  EXPECT_TRUE(has_finding(r, "further_decision"));
}

TEST(Outcome, IsUnknownWithoutTheBoardsRecordOrWithoutItsEnd) {
  CleanTrial t = ejection();
  t.traces.detector = {};
  EXPECT_EQ(analyse(t.traces, t.setup).outcome, Outcome::unknown);
  const TrialResult cut = decided({}, kMotionAt + 0.010);
  EXPECT_EQ(cut.outcome, Outcome::unknown);
  EXPECT_EQ(cut.verdict, Verdict::void_);
  EXPECT_TRUE(has_finding(cut, "record_too_short"));
  EXPECT_EQ(decided({0.010}, 1.0, 0.0).outcome, Outcome::unknown);
}

TEST(Outcome, NearABoundaryIsSaid) {
  EXPECT_TRUE(has_finding(decided({0.03003}), "outcome_near_boundary"));
  EXPECT_TRUE(has_finding(decided({0.00003}), "outcome_near_boundary"));
  EXPECT_FALSE(has_finding(decided({0.020}), "outcome_near_boundary"));
}

TEST(Outcome, PollingIsTakenOffByHalf) {
  CleanTrial t = ejection();
  const double plain = value_of(analyse(t.traces, t.setup), "detector_latency_seconds");
  t.traces.detector.polling_period_seconds = 4.0e-3;
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_NEAR(value_of(r, "detector_latency_seconds"), plain - 2.0e-3, 1.0e-12);
  EXPECT_GT(r.metric("detector_latency_seconds")->measured()->standard_uncertainty, 4.0e-3 / std::sqrt(12.0));
}

Judgement judged(Criterion c) {
  CleanTrial t = ejection();
  t.traces.traces[1].alignment_standard_uncertainty_seconds = 1.0e-4;
  t.setup.criteria = {std::move(c)};
  return analyse(t.traces, t.setup).criteria.at(0);
}

TEST(Criterion, AMetricPassesOrFailsByItsValueWithItsMargin) {
  const auto speed = [](std::optional<double> low, std::optional<double> high) {
    return judged({Criterion::Kind::metric, "speed", "exit_speed_from_force_mps", low, high});
  };
  EXPECT_EQ(speed(9.0, 12.0).verdict, Verdict::pass);
  EXPECT_NEAR(*speed(9.0, 12.0).margin, 1.0, 0.05);
  EXPECT_EQ(speed(11.0, {}).verdict, Verdict::fail);
  EXPECT_NEAR(*speed(11.0, {}).margin, -1.0, 0.05);
  EXPECT_EQ(speed({}, 9.0).verdict, Verdict::fail);
  EXPECT_NE(speed({}, 9.0).reason.find("limit at most 9"), std::string::npos);
  EXPECT_EQ(speed({}, {}).verdict, Verdict::void_);
  EXPECT_EQ(judged({Criterion::Kind::metric, "x", "no_such_metric", 1.0, {}}).verdict, Verdict::void_);
}

TEST(Criterion, QualityIsVoidNeverFail) {
  EXPECT_EQ(judged({Criterion::Kind::no_lost_samples, "q", "", {}, {}}).verdict, Verdict::pass);
  EXPECT_EQ(judged({Criterion::Kind::nothing_saturated, "q", "", {}, {}}).verdict, Verdict::pass);
  EXPECT_EQ(judged({Criterion::Kind::alignment_within, "q", "", {}, 2.0e-4}).verdict, Verdict::pass);
  EXPECT_EQ(judged({Criterion::Kind::alignment_within, "q", "", {}, 5.0e-5}).verdict, Verdict::void_);
}

TEST(Criterion, AnAlignmentThatTheTracesContradictIsVoid) {
  const auto shifted = [](double seconds, bool saturated) {
    CleanTrial t = ejection();
    t.traces.traces[1].alignment_standard_uncertainty_seconds = 1.0e-4;
    t.traces.traces[1].start_seconds += seconds;
    if (saturated) t.traces.traces[1].saturated = {{2050, 2060}};
    t.setup.criteria = {{Criterion::Kind::alignment_within, "q", "", {}, 2.0e-4}};
    return analyse(t.traces, t.setup);
  };
  EXPECT_EQ(shifted(0.0, false).verdict, Verdict::pass);
  EXPECT_NE(shifted(0.0, false).criteria.at(0).reason.find("bear it out"), std::string::npos);
  const TrialResult off = shifted(2.0e-3, false);
  EXPECT_EQ(off.verdict, Verdict::void_);
  EXPECT_NE(off.criteria.at(0).reason.find("The traces say otherwise"), std::string::npos);
  // A check that cannot be made is no reason against the trial, but it is said.
  const TrialResult unchecked = shifted(0.0, true);
  EXPECT_EQ(unchecked.verdict, Verdict::pass);
  EXPECT_NE(unchecked.criteria.at(0).reason.find("cannot check it"), std::string::npos);
  EXPECT_TRUE(has_finding(unchecked, "clocks_not_checked"));
  EXPECT_FALSE(has_finding(shifted(0.0, false), "clocks_not_checked"));
}

TEST(Criterion, WhatShakesTheVehicleCountsAsUsed) {
  for (const Role role : {Role::lateral_acceleration, Role::second_tilt_rate}) {
    CleanTrial t = ejection();
    Trace across = t.traces.traces[1];
    across.name = "across";
    across.role = role;
    std::fill(across.samples.begin(), across.samples.end(), 0.0);
    const auto motion = static_cast<std::size_t>((kMotionAt - across.start_seconds) / across.period_seconds);
    across.saturated = {{motion + 5, motion + 9}};
    across.missing = {{motion + 20, motion + 23}};
    t.traces.traces.push_back(across);
    t.setup.criteria = {{Criterion::Kind::nothing_saturated, "q", "", {}, {}},
                        {Criterion::Kind::no_lost_samples, "q", "", {}, {}}};
    const TrialResult r = analyse(t.traces, t.setup);
    EXPECT_EQ(r.criteria.at(0).reason, "4 saturated samples in the stroke in across.");
    EXPECT_EQ(r.criteria.at(1).reason, "3 lost samples in the stroke in across.");
    if (role == Role::lateral_acceleration) {
      EXPECT_TRUE(r.metric("lateral_peak_g")->measured()->at_least);
    }
  }
}

TEST(Criterion, ClippingAfterSeparationIsNotHeldAgainstTheTrial) {
  CleanTrial t = ejection();
  t.traces.traces[0].saturated = {{2503, 2520}};  // the piston's stop
  t.setup.criteria = {{Criterion::Kind::nothing_saturated, "q", "", {}, {}}};
  EXPECT_EQ(analyse(t.traces, t.setup).verdict, Verdict::pass);
}

TEST(Verdict, AFailOutweighsAVoidAndNoneIsVoid) {
  const auto with = [](std::vector<Verdict> all) {
    std::vector<Judgement> judgements;
    for (const Verdict v : all) judgements.push_back({{}, v, {}, {}, {}});
    return verdict_of(judgements);
  };
  EXPECT_EQ(with({Verdict::pass, Verdict::pass}), Verdict::pass);
  EXPECT_EQ(with({Verdict::pass, Verdict::void_}), Verdict::void_);
  EXPECT_EQ(with({Verdict::void_, Verdict::fail}), Verdict::fail);
  EXPECT_EQ(with({}), Verdict::void_);
  CleanTrial t = ejection();
  EXPECT_TRUE(has_finding(analyse(t.traces, t.setup), "no_criteria"));
}

TEST(Words, AreThoseOfTheMachineReadableOutput) {
  EXPECT_STREQ(word(Verdict::void_), "void");
  EXPECT_STREQ(word(Outcome::in_time), "in_time");
  EXPECT_STREQ(word(Outcome::missed), "missed");
}

}  // namespace
}  // namespace coldstroke::analysis
