// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/demonstration_statement.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <limits>

#include "tests/analysis/statistics/invented_trials.hpp"

namespace coldstroke::analysis::statistics {
namespace {

using testing::Contains;
using testing::HasSubstr;

constexpr std::array kGoals{Goal{0.95, 0.95}, Goal{0.90, 0.90}, Goal{0.90, 0.95}};

DemonstrationStatement state(const std::vector<TrialRecord>& trials, std::span<const Goal> goals = kGoals) {
  return state_demonstration(trials, count_trials(trials).value(), goals).value();
}

std::vector<TrialRecord> after_a_change(const std::string& before, const std::string& after) {
  auto trials = trials_of(before, configuration("11aa"));
  add_trials(trials, after, configuration("3f9c"));
  return trials;
}

TEST(StateDemonstration, SaysWhatIsShownAndWhatIsNot) {
  const auto s = state(after_a_change("pf", std::string(22, 'p')));
  EXPECT_EQ(s.sentence, "22 of 22 passed since firmware 3f9c; shows 0.90 at 90 %; 7 more for 0.90 at 95 %");
  ASSERT_EQ(s.bounds.size(), 3u);
  EXPECT_NEAR(s.bounds[0].at_least, 0.900628020211, 1.0e-9);
  EXPECT_THAT(s.notes, Contains(HasSubstr("1 of 2 passed, 1 failure that the later count does not hold")));
}

TEST(StateDemonstration, BelowTheFirstGoalTheBoundItselfRoundedDown) {
  const auto s = state(trials_of("pppppppppp"));
  EXPECT_EQ(s.sentence, "10 of 10 passed since the first trial; shows 0.79 at 90 %; 12 more for 0.90 at 90 %");
}

TEST(StateDemonstration, EverythingShown) {
  const auto s = state(trials_of(std::string(59, 'p')));
  EXPECT_EQ(s.sentence,
            "59 of 59 passed since the first trial; shows 0.95 at 95 % (exactly 0.9504); nothing above that is shown");
}

TEST(StateDemonstration, EmptyAllVoidAndAllFailedShowNothing) {
  EXPECT_EQ(state({}).sentence, "0 of 0 passed since the first trial; shows nothing yet; 22 more for 0.90 at 90 %");
  const auto all_void = state(trials_of("vvv"));
  EXPECT_EQ(all_void.sentence, "0 of 0 passed since the first trial; shows nothing yet; 22 more for 0.90 at 90 %");
  EXPECT_TRUE(all_void.bounds.empty());
  EXPECT_THAT(all_void.notes, Contains(HasSubstr("3 void trials in this run (100 %)")));
  const auto all_failed = state(trials_of("ffff"));
  EXPECT_THAT(all_failed.sentence, HasSubstr("0 of 4 passed since the first trial; shows nothing; "));
  EXPECT_EQ(all_failed.bounds[0].at_least, 0.0);
}

TEST(StateDemonstration, OneTrial) {
  EXPECT_THAT(state(trials_of("p")).sentence, HasSubstr("1 of 1 passed since the first trial; shows 0.10 at 90 %"));
}

TEST(StateDemonstration, SeveralChangesAtOnceAreCounted) {
  auto trials = trials_of("p", configuration("11aa", "1.50 kg"));
  add_trials(trials, "p", configuration("3f9c", "1.60 kg"));
  EXPECT_THAT(state(trials).sentence, HasSubstr("since firmware 3f9c and 1 other change;"));
}

TEST(StateDemonstration, ChargeOutsideIsNamedAndAFailureThereIsSaid) {
  auto trials = trials_of("pppfp");
  trials[3].charge = ChargeCheck::outside;
  trials[3].charge_words = "9.1 bar";
  const auto s = state(trials);
  EXPECT_THAT(s.sentence, HasSubstr("1 of 1 passed since the charge of trial 4 left its band"));
  EXPECT_THAT(s.notes, Contains(HasSubstr("Trial 4 failed with its charge outside the declared band (9.1 bar)")));
}

TEST(StateDemonstration, HandVoidsAreShownWithWhatTheyWouldHaveDone) {
  auto trials = trials_of(std::string(22, 'p') + "v");
  trials.back().hand_void = HandVoid{CountedVerdict::fail, "cable pulled, seen on video"};
  const auto s = state(trials);
  EXPECT_THAT(s.notes, Contains("Trial 23 was voided by hand, judged before as failed: cable pulled, seen on video"));
  ASSERT_EQ(s.bounds_if_voided_had_failed.size(), 3u);
  EXPECT_EQ(s.bounds_if_voided_had_failed[0], reliability_shown(23, 1, 0.9).value());
  EXPECT_LT(s.bounds_if_voided_had_failed[0].at_least, s.bounds[0].at_least);
}

TEST(StateDemonstration, HandVoidsOfClosedRunsStayVisible) {
  auto trials = after_a_change("pv", "p");
  trials[1].hand_void = HandVoid{CountedVerdict::fail, "wrong video"};
  EXPECT_THAT(state(trials).notes, Contains(HasSubstr("Trial 2 was voided by hand")));
}

TEST(StateDemonstration, RefusesBadGoalsAndAForeignCount) {
  const auto trials = trials_of("pp");
  const auto count = count_trials(trials).value();
  EXPECT_FALSE(state_demonstration(trials, count, {}).has_value());
  for (const double bad : {0.0, 1.0, -1.0, std::numeric_limits<double>::quiet_NaN()}) {
    EXPECT_FALSE(state_demonstration(trials, count, std::array{Goal{bad, 0.9}}).has_value());
    EXPECT_FALSE(state_demonstration(trials, count, std::array{Goal{0.9, bad}}).has_value());
  }
  EXPECT_FALSE(state_demonstration(trials_of("ppp"), count, kGoals).has_value());
  EXPECT_FALSE(state_demonstration({}, count, kGoals).has_value());
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
