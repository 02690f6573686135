// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/foreign_detector.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace coldstroke::daq {
namespace {

using analysis::DetectorState;
using analysis::PreparedRecording;
using analysis::StateChange;
using testing::ElementsAre;
using testing::HasSubstr;

ForeignDetector detector(const char* library) { return {"own", library, analysis::Axis::z, {2000.0, 16, 64.0}}; }
ForeignProgram program(double limit_seconds = 20.0) { return {COLDSTROKE_PROGRAM, {"foreign-detector"}, limit_seconds}; }

PreparedRecording recording(const std::string& name, std::vector<std::int32_t> counts) {
  PreparedRecording out;
  out.name = name;
  out.counts = std::move(counts);
  return out;
}

TEST(ForeignDetector, TheExampleOfTheDocsDecidesWhereItSays) {
  std::vector<std::int32_t> counts(400, 512);  // 1 g at 512 counts a g
  for (std::size_t k = 200; k < 300; ++k) counts[k] = 512 + 10 * 512;
  const std::vector<PreparedRecording> recordings{recording("pulse", counts),
                                                  recording("still", std::vector<std::int32_t>(400, 512))};
  const auto answers = run_foreign(detector(FOREIGN_EXAMPLE), recordings, program());
  ASSERT_TRUE(answers) << answers.error().what;
  EXPECT_THAT(answers->at(0).changes,
              ElementsAre(StateChange{200, DetectorState::building}, StateChange{219, DetectorState::decided}));
  EXPECT_EQ(decision_of(answers->at(0).changes), 219U);
  EXPECT_THAT(answers->at(1).changes, testing::IsEmpty()) << "each recording starts a detector of its own";
  EXPECT_FALSE(answers->at(0).finding);
}

/// Good, bad, good: what goes wrong in the middle is a finding and the third is run all the same.
std::vector<ForeignAnswer> around_a_fault(const char* library, double limit_seconds) {
  const std::vector<PreparedRecording> recordings{recording("first", {0, 0, 1000}), recording("second", {0, -2000, 1000}),
                                                  recording("third", {0, 1000, 0})};
  auto answers = run_foreign(detector(library), recordings, program(limit_seconds));
  EXPECT_TRUE(answers) << answers.error().what;
  EXPECT_EQ(decision_of(answers->at(0).changes), 2U);
  EXPECT_EQ(decision_of(answers->at(2).changes), 1U);
  EXPECT_TRUE(answers->at(1).finding);
  EXPECT_EQ(answers->at(1).finding->channel, "second");
  return std::move(*answers);
}

TEST(ForeignDetector, ACrashIsAFindingOfItsRecording) {
  const auto answers = around_a_fault(FOREIGN_CRASH, 20.0);
  EXPECT_EQ(answers[1].finding->kind, "foreign_crashed");
  EXPECT_THAT(answers[1].finding->message, HasSubstr("signal 11"));
}

TEST(ForeignDetector, AnEndlessLoopIsEndedAndIsAFinding) {
  const auto answers = around_a_fault(FOREIGN_LOOP, 2.0);
  EXPECT_EQ(answers[1].finding->kind, "foreign_hung");
  EXPECT_THAT(answers[1].finding->message, HasSubstr("2 s"));
}

TEST(ForeignDetector, AValueThatIsNoStateIsAFinding) {
  const auto answers = around_a_fault(FOREIGN_BAD_STATE, 20.0);
  EXPECT_EQ(answers[1].finding->kind, "foreign_bad_state");
  EXPECT_THAT(answers[1].finding->message, HasSubstr("sample 1"));
}

TEST(ForeignDetector, ALibraryThatCannotBeUsedIsRefused) {
  const std::vector<PreparedRecording> recordings{recording("one", {0})};
  for (const char* library : {FOREIGN_LACKING, "/nowhere/none.so", COLDSTROKE_SOURCE_DIR "/README.md"}) {
    const auto answers = run_foreign(detector(library), recordings, program());
    ASSERT_FALSE(answers) << library;
    EXPECT_THAT(answers.error().what, HasSubstr("exit code 3"));
    EXPECT_EQ(answers.error().where, library);
  }
}

}  // namespace
}  // namespace coldstroke::daq
