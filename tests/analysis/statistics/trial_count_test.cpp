// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/trial_count.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/analysis/statistics/invented_trials.hpp"

namespace coldstroke::analysis::statistics {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

TEST(CountTrials, NothingRunNothingCounted) {
  const auto count = count_trials({});
  ASSERT_TRUE(count.has_value());
  EXPECT_TRUE(count->runs.empty());
  EXPECT_FALSE(count->whole.void_share().has_value());
}

TEST(CountTrials, VoidAndAbortedNeitherCountNorHelp) {
  const auto count = count_trials(trials_of("ppvapfvp")).value();
  ASSERT_EQ(count.runs.size(), 1u);
  const TrialRun& run = count.runs[0];
  EXPECT_EQ(run.passes, 4);
  EXPECT_EQ(run.fails, 1);
  EXPECT_EQ(run.voids, 2);
  EXPECT_EQ(run.aborted, 1);
  EXPECT_DOUBLE_EQ(run.void_share().value(), 2.0 / 7.0);
  EXPECT_FALSE(run.begun_by.has_value());
}

TEST(CountTrials, AFailureDoesNotRestartTheCount) {
  const auto count = count_trials(trials_of("fppppp")).value();
  ASSERT_EQ(count.runs.size(), 1u);
  EXPECT_EQ(count.runs[0].fails, 1);
  EXPECT_EQ(count.runs[0].judged(), 6);
}

TEST(CountTrials, EveryPartOfTheConfigurationRestartsAndIsNamed) {
  const Configuration before = configuration();
  for (std::size_t part = 0; part < before.parts.size(); ++part) {
    Configuration after = before;
    after.parts[part].identity = "other";
    after.parts[part].words = "another one";
    auto trials = trials_of("ppf", before);
    add_trials(trials, "pp", after);
    const auto count = count_trials(trials).value();
    ASSERT_EQ(count.runs.size(), 2u);
    EXPECT_EQ(count.runs[1].passes, 2);
    EXPECT_EQ(count.runs[1].fails, 0);
    EXPECT_EQ(count.runs[0].fails, 1);  // the closed run keeps its failure
    EXPECT_THAT(count.runs[1].begun_by->changes,
                ElementsAre(Change{before.parts[part].part, before.parts[part].words, "another one"}));
    EXPECT_THAT(count.runs[1].begun_by->words, HasSubstr("trial 4"));
    EXPECT_THAT(count.runs[1].begun_by->words, HasSubstr(before.parts[part].part));
  }
}

TEST(CountTrials, APartThatAppearsOrVanishesIsAChange) {
  Configuration more = configuration();
  more.parts.push_back({"rig", "r1", "tube A"});
  auto trials = trials_of("p");
  add_trials(trials, "p", more);
  add_trials(trials, "p", configuration());
  const auto count = count_trials(trials).value();
  ASSERT_EQ(count.runs.size(), 3u);
  EXPECT_THAT(count.runs[1].begun_by->changes, ElementsAre(Change{"rig", "not stated", "tube A"}));
  EXPECT_THAT(count.runs[2].begun_by->changes, ElementsAre(Change{"rig", "tube A", "not stated"}));
}

TEST(CountTrials, AnotherKeyRestartsEvenIfNoPartSaysWhy) {
  Configuration other = configuration();
  other.key = "0123456789";
  auto trials = trials_of("p");
  add_trials(trials, "p", other);
  const auto count = count_trials(trials).value();
  ASSERT_EQ(count.runs.size(), 2u);
  EXPECT_EQ(count.runs[1].begun_by->changes[0].part, "configuration");
}

TEST(CountTrials, GoingBackToAnEarlierConfigurationDoesNotBringItsCountBack) {
  auto trials = trials_of("pppp", configuration("aaaa"));
  add_trials(trials, "p", configuration("bbbb"));
  add_trials(trials, "pp", configuration("aaaa"));
  const auto count = count_trials(trials).value();
  ASSERT_EQ(count.runs.size(), 3u);
  EXPECT_EQ(count.runs[2].passes, 2);
}

TEST(CountTrials, AChangeSeenOnlyOnAVoidTrialStillRestarts) {
  auto trials = trials_of("ppp", configuration("aaaa"));
  add_trials(trials, "v", configuration("bbbb"));
  add_trials(trials, "p", configuration("aaaa"));
  EXPECT_EQ(count_trials(trials).value().runs.back().passes, 1);
}

TEST(CountTrials, ChargeOutsideItsBandEndsTheRunAndIsInNoCount) {
  auto trials = trials_of("ppppp");
  trials[2].charge = ChargeCheck::outside;
  trials[2].charge_words = "9.1 bar, declared 7.8 to 8.2 bar";
  const auto count = count_trials(trials).value();
  ASSERT_EQ(count.runs.size(), 2u);
  EXPECT_EQ(count.runs[0].passes, 2);
  EXPECT_EQ(count.runs[1].passes, 2);
  EXPECT_THAT(count.runs[1].charge_outside, ElementsAre(2u));
  EXPECT_TRUE(count.runs[1].begun_by->charge_left_band);
  EXPECT_THAT(count.runs[1].begun_by->words, HasSubstr("9.1 bar"));
}

TEST(CountTrials, SeveralChargesOutsideInARowOpenOneRun) {
  auto trials = trials_of("ppffp");
  trials[2].charge = trials[3].charge = ChargeCheck::outside;
  const auto count = count_trials(trials).value();
  ASSERT_EQ(count.runs.size(), 2u);
  EXPECT_THAT(count.runs[1].charge_outside, ElementsAre(2u, 3u));
  EXPECT_EQ(count.runs[1].passes, 1);
  EXPECT_EQ(count.runs[1].fails, 0);
}

TEST(CountTrials, TheFirstTrialMayBeOutsideToo) {
  auto trials = trials_of("pp");
  trials[0].charge = ChargeCheck::outside;
  const auto count = count_trials(trials).value();
  ASSERT_EQ(count.runs.size(), 1u);
  EXPECT_EQ(count.runs[0].passes, 1);
  EXPECT_TRUE(count.runs[0].begun_by.has_value());
}

TEST(CountTrials, ChargeOfATrialThatWasNotJudgedDoesNotRestart) {
  auto trials = trials_of("ppavp");
  trials[2].charge = trials[3].charge = ChargeCheck::outside;
  const auto count = count_trials(trials).value();
  ASSERT_EQ(count.runs.size(), 1u);
  EXPECT_EQ(count.runs[0].passes, 3);
}

TEST(CountTrials, AnUncheckedChargeCountsAndIsSaid) {
  auto trials = trials_of("pp");
  trials[1].charge = ChargeCheck::not_checked;
  EXPECT_EQ(count_trials(trials).value().runs[0].charge_not_checked, 1);
}

TEST(CountTrials, VoidedByHandNeedsAReasonAndStaysVisible) {
  auto trials = trials_of("pvp");
  trials[1].hand_void = HandVoid{CountedVerdict::fail, "valve supply unplugged, see video"};
  EXPECT_THAT(count_trials(trials).value().runs[0].hand_voided, ElementsAre(1u));
  trials[1].hand_void->reason = "  \n";
  EXPECT_THAT(count_trials(trials).error().what, HasSubstr("without a reason"));
  trials[1].hand_void->reason = "why";
  trials[1].verdict = CountedVerdict::pass;
  EXPECT_FALSE(count_trials(trials).has_value());
}

TEST(CountTrials, RefusesATrialWithoutNameOrKey) {
  auto trials = trials_of("pp");
  trials[1].name.clear();
  EXPECT_FALSE(count_trials(trials).has_value());
  trials = trials_of("pp");
  trials[0].configuration.key.clear();
  EXPECT_FALSE(count_trials(trials).has_value());
}

// Whatever the history, every trial is in exactly one run and no verdict is lost: checked over all histories of 7 trials
// out of 3 verdicts, with a change of firmware, a charge outside its band, or nothing at each place.
TEST(CountTrials, LosesNoTrialInAnyHistory) {
  const std::string verdicts = "pfv";
  for (int code = 0; code < 3 * 3 * 3 * 3 * 3 * 3 * 3; ++code) {
    std::vector<TrialRecord> trials;
    int rest = code, version = 0;
    for (int place = 0; place < 7; ++place, rest /= 3) {
      if (rest % 3 == 1 && place % 2 == 0) ++version;
      add_trials(trials, std::string(1, verdicts[static_cast<std::size_t>(rest % 3)]), configuration(std::to_string(version)));
      if (rest % 3 != 2 && place % 3 == 1) trials.back().charge = ChargeCheck::outside;
    }
    const auto count = count_trials(trials).value();
    std::size_t next = 0;
    std::int64_t seen = 0;
    for (const TrialRun& run : count.runs) {
      EXPECT_EQ(run.first, next);
      next = run.last + 1;
      seen += run.judged() + run.voids + run.aborted + static_cast<std::int64_t>(run.charge_outside.size());
    }
    EXPECT_EQ(next, trials.size());
    EXPECT_EQ(seen, static_cast<std::int64_t>(trials.size()));
  }
}

}  // namespace
}  // namespace coldstroke::analysis::statistics
