// SPDX-License-Identifier: GPL-3.0-or-later
//
// The whole line in lock-step: a virtual rig as a separate process, real board code, real bytes, an archive on disk.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/daq/bench/run_of_trials.hpp"

namespace coldstroke::daq {

VirtualRigProgram program() { return {COLDSTROKE_PROGRAM, {"virtual"}}; }

namespace {

using testing::HasSubstr;

Campaign opened(const std::filesystem::path& file) {
  auto campaign = Campaign::open_read_only(file);
  EXPECT_TRUE(campaign) << campaign.error().what;
  return std::move(*campaign);
}

TEST(LockstepBench, ASteadyRigPassesTrialAfterTrialAndLosesNothing) {
  const auto folder = test_folder();
  for (const LastTrial& trial : run_trials(folder, {.trials = 3})) EXPECT_EQ(trial.verdict, "pass") << trial.sentence;
  const Campaign campaign = opened(folder / "run.coldstroke");
  const auto report = campaign.verify();
  ASSERT_TRUE(report);
  EXPECT_THAT(report->findings, testing::IsEmpty());
  EXPECT_EQ(report->trials, 3U);
  for (std::int64_t number = 1; number <= 3; ++number) {
    const auto judged = judge_trial(campaign, number);
    ASSERT_TRUE(judged) << judged.error().what;
    for (const std::string& note : judged->notes)
      EXPECT_THAT(note, testing::Not(HasSubstr("frames"))) << "a line lost or damaged frames";
    EXPECT_EQ(judged->traces.alignment_method, "clock exchange");
    EXPECT_EQ(judged->traces.detector.source, analysis::DecisionSource::memory);
  }
}

TEST(LockstepBench, JudgingAnArchivedTrialAgainGivesTheSameBits) {
  const auto folder = test_folder();
  run_trials(folder, {.seed = 9});
  const Campaign campaign = opened(folder / "run.coldstroke");
  const auto results = campaign.results(1);
  ASSERT_TRUE(results);
  ASSERT_EQ(results->size(), 1U);
  for (int again = 0; again < 2; ++again) {
    const auto judged = judge_trial(campaign, 1);
    ASSERT_TRUE(judged);
    EXPECT_EQ(result_json(judged->result), results->front().json);
  }
  const auto parsed = parse_result_json(results->front().json);
  ASSERT_TRUE(parsed);
  EXPECT_EQ(result_json(*parsed), results->front().json);
}

TEST(LockstepBench, ASeedRepeatsBitForBitAndAnotherDoesNot) {
  const auto folder = test_folder();
  run_trials(folder, {.seed = 4, .file = "a.coldstroke"});
  run_trials(folder, {.seed = 4, .file = "b.coldstroke"});
  run_trials(folder, {.seed = 5, .file = "c.coldstroke"});
  const auto a = opened(folder / "a.coldstroke").raw(1), b = opened(folder / "b.coldstroke").raw(1),
             c = opened(folder / "c.coldstroke").raw(1);
  ASSERT_TRUE(a && b && c);
  EXPECT_GT(a->size(), 1000U);
  EXPECT_TRUE(*a == *b);
  EXPECT_FALSE(*a == *c);
}

TEST(LockstepBench, TheTrialWaitsForTheBoardsRecordSinceTheCableStaysBehind) {
  const auto folder = test_folder();
  run_trials(folder, {});
  const auto events = opened(folder / "run.coldstroke").events(1);
  ASSERT_TRUE(events);
  const auto read_back = std::ranges::find(*events, "read-back", &HostEvent::kind);
  ASSERT_NE(read_back, events->end());
  EXPECT_THAT(read_back->text, HasSubstr("was read back"));
}

TEST(LockstepBench, AnExistingFileThatIsNoCampaignIsRefusedAndLeftAlone) {
  const auto folder = test_folder();
  const auto file = folder / "run.coldstroke";
  const std::string text = "these are somebody's notes\n";
  {
    FILE* out = std::fopen(file.c_str(), "wb");
    std::fwrite(text.data(), 1, text.size(), out);
    std::fclose(out);
  }
  const auto trials = run_trials(folder, {});
  EXPECT_EQ(trials.front().verdict, "complaint");
  EXPECT_EQ(std::filesystem::file_size(file), text.size());
}

TEST(LockstepBench, AnUnknownScenarioOrFaultIsNamed) {
  const auto folder = test_folder();
  EXPECT_EQ(run_trials(folder, {.scenario = "no such"}).front().verdict, "complaint");
  EXPECT_EQ(run_trials(folder, {.faults = {"no_such_fault"}}).front().verdict, "complaint");
}

/// What a scenario or an injected fault must lead to.
struct Case {
  const char* scenario;
  const char* fault;  ///< empty: none
  const char* verdict;
  const char* outcome;  ///< empty: not judged
  const char* words;    ///< in the sentence, a finding, a note or an event
};

void PrintTo(const Case& c, std::ostream* out) { *out << c.scenario << " + " << c.fault; }

class WhatGoesWrong : public testing::TestWithParam<Case> {};

TEST_P(WhatGoesWrong, IsSeenAndSaid) {
  const Case& expected = GetParam();
  const auto folder = test_folder();
  RunOptions options{.scenario = expected.scenario, .seed = 5};
  if (*expected.fault != '\0') options.faults = {expected.fault};
  const auto trials = run_trials(folder, options);
  ASSERT_EQ(trials.size(), 1U);
  EXPECT_EQ(trials.front().verdict, expected.verdict) << trials.front().sentence;
  std::string said = trials.front().sentence;
  const Campaign campaign = opened(folder / options.file);
  if (trials.front().number > 0) {
    const auto events = campaign.events(trials.front().number);
    ASSERT_TRUE(events);
    for (const HostEvent& event : *events) said += "\n" + event.text;
    const auto stopped = std::ranges::find(*events, "stopped", &HostEvent::kind);
    EXPECT_EQ(stopped != events->end(), trials.front().verdict == "aborted") << "the archive keeps why a trial was stopped";
    if (*expected.outcome != '\0') {
      const auto judged = judge_trial(campaign, trials.front().number);
      ASSERT_TRUE(judged) << judged.error().what;
      EXPECT_STREQ(word(judged->result.outcome), expected.outcome);
      for (const auto& finding : judged->result.findings) said += "\n" + finding.kind + ": " + finding.message;
      for (const auto& judgement : judged->result.criteria) said += "\n" + judgement.reason;
      for (const std::string& note : judged->notes) said += "\n" + note;
    }
  }
  EXPECT_THAT(said, HasSubstr(expected.words));
}

INSTANTIATE_TEST_SUITE_P(
    Scenarios, WhatGoesWrong,
    testing::Values(Case{"long_window", "", "fail", "missed", "missed"}, Case{"hard_landing", "", "fail", "late", "late"},
                    Case{"slow_filter", "", "fail", "late", "late"}, Case{"touchy", "", "fail", "early", "early"},
                    Case{"small_bottle", "", "fail", "in_time", "impulse"}, Case{"narrow_range", "", "fail", "missed", "clipped"},
                    Case{"weak_cell", "", "void", "unknown", "was reset"}));

INSTANTIATE_TEST_SUITE_P(Faults, WhatGoesWrong,
                         testing::Values(Case{"steady", "lost_frames,probability=0.3", "void", "in_time", "lost"},
                                         Case{"steady", "garbage_bytes,step=holding,lasting_seconds=1", "pass", "in_time",
                                              "damaged"},
                                         Case{"steady", "link_drop_at_separation", "pass", "in_time", "was read back"},
                                         Case{"steady", "stuck_fast_valve", "fail", "in_time", "exit speed"},
                                         Case{"steady", "hang", "aborted", "", "no motion"},
                                         Case{"steady", "blocked_vent", "aborted", "", "does not come down"},
                                         Case{"steady", "leaking_reservoir", "aborted", "", "held under pressure too long"},
                                         Case{"steady", "regulator_creep,litres_per_minute=30", "aborted", "", "pressure"},
                                         Case{"steady", "saturated_force", "void", "in_time", "force"},
                                         Case{"steady", "frozen_force", "aborted", "", "force is frozen"},
                                         Case{"steady", "saturated_acceleration", "void", "in_time", "clipped"},
                                         Case{"steady", "armed_board", "complaint", "", "ARMED"},
                                         Case{"steady", "continuity_present", "complaint", "", "channel 2 reads 1.60 ohm"},
                                         Case{"steady", "detector_early", "fail", "early", "early"},
                                         Case{"steady", "detector_late", "fail", "late", "late"},
                                         Case{"steady", "detector_never", "fail", "missed", "missed"},
                                         Case{"steady", "rig_link_drop,step=holding", "aborted", "", "rig link"},
                                         Case{"steady", "stop_loop_opens,step=holding", "aborted", "", "emergency-stop loop"},
                                         Case{"steady", "key_removed,step=holding", "aborted", "", "release key"},
                                         Case{"steady", "brown_out_reset,step=holding", "aborted", "", "was reset"},
                                         Case{"steady", "clock_jump,step=holding", "pass", "in_time", "clock"},
                                         Case{"steady", "board_silent", "complaint", "", "does not answer"},
                                         Case{"steady", "boards_swapped", "complaint", "", "swap"},
                                         Case{"steady", "protocol_newer_major", "complaint", "", "update this program"}));

}  // namespace
}  // namespace coldstroke::daq
