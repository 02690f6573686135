// SPDX-License-Identifier: GPL-3.0-or-later
//
// Two firmware configurations compared by what their boards answered: the virtual rig's real board code in a process of its own,
// played to, kept in a file, read again and paired.
#include "daq/playback/played_answers.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "analysis/detector/synthesise.hpp"
#include "tests/daq/record/fresh_folder.hpp"

namespace coldstroke::daq {
namespace {

using analysis::Recording;
using testing::ElementsAre;
using testing::HasSubstr;

std::vector<Recording> library(std::uint64_t seed = 5) {
  analysis::Scene scene;
  scene.quiet_seconds = scene.tail_seconds = 0.05;
  scene.seed = seed;
  return *analysis::synthetic_library(10, 1, scene);
}

/// One playback to a board of this scenario, as the verb writes it.
std::string played(const char* scenario, const std::vector<Recording>& recordings) {
  VirtualRigOptions options;
  options.scenario = scenario;
  auto rig = VirtualRigProcess::start_lockstep(options, {COLDSTROKE_PROGRAM, {"virtual"}});
  EXPECT_TRUE(rig) << rig.error().what;
  const auto run = play_in_lockstep(*rig, [&](const BoardClaims& claims) { return stimuli_of(recordings, claims); });
  EXPECT_TRUE(run && !run->ended_early);
  const auto report = judge_playback(*run, std::nullopt);
  EXPECT_TRUE(report) << report.error().what;
  return playback_json(*report, *run);
}

class PlayedAnswersTest : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    before_text_ = played("long_window", library());
    after_text_ = played("steady", library());
  }
  Result<PlayedAnswers> read(const std::string& text) {
    std::ofstream{folder_ / "answers.json"} << text;
    return read_played_answers(folder_ / "answers.json");
  }
  PlayedAnswers before() { return *read(before_text_); }
  PlayedAnswers after() { return *read(after_text_); }
  static inline std::string before_text_, after_text_;
  FreshFolder folder_;
};

TEST_F(PlayedAnswersTest, BoardsThatDoWhatTheySayGiveTheReplaysComparison) {
  const auto recordings = library();
  const auto compared = compare_played(recordings, before(), after());
  ASSERT_TRUE(compared) << compared.error().what;
  EXPECT_THAT(compared->findings, testing::IsEmpty());
  const auto replayed =
      analysis::compare_detectors(recordings, *claimed_detector(before().claims), *claimed_detector(after().claims));
  ASSERT_TRUE(replayed);
  ASSERT_EQ(compared->pairs.pairs.size(), recordings.size());
  for (std::size_t i = 0; i < recordings.size(); ++i) {
    EXPECT_EQ(compared->pairs.pairs[i].before, replayed->pairs[i].before) << recordings[i].name;
    EXPECT_EQ(compared->pairs.pairs[i].after, replayed->pairs[i].after) << recordings[i].name;
  }
  EXPECT_GT(compared->pairs.mended, 3U) << "the long window outlasts every pulse";
  EXPECT_EQ(compared->pairs.worst_first, replayed->worst_first);
}

TEST_F(PlayedAnswersTest, WhatABoardAnsweredCountsAndNotWhatItsSettingsPredict) {
  PlayedAnswers odd = after();
  auto& first = odd.answers.front();
  ASSERT_TRUE(first.decision_sample);
  first.decision_sample.reset();
  const auto compared = compare_played(library(), before(), odd);
  EXPECT_EQ(compared->pairs.pairs.front().after.outcome, analysis::ReplayOutcome::missed);
}

TEST_F(PlayedAnswersTest, OnlyTheSameRecordingsPlayedWholeToBothAreCompared) {
  PlayedAnswers lacking = before();
  const std::string missing = lacking.answers[1].recording, broken = lacking.answers[2].recording;
  lacking.answers[2].played_whole = false;
  lacking.answers[2].trouble = "The board reset.";
  lacking.answers.erase(lacking.answers.begin() + 1);
  auto recordings = library();
  recordings[3].axes[2][40] += 3.0;  // under the same name another recording
  const auto compared = compare_played(recordings, lacking, after());
  ASSERT_TRUE(compared) << compared.error().what;
  EXPECT_EQ(compared->pairs.pairs.size(), recordings.size() - 3);
  ASSERT_EQ(compared->findings.size(), 3U);
  EXPECT_THAT(compared->findings[0].message, HasSubstr("not played before"));
  EXPECT_EQ(compared->findings[0].channel, missing);
  EXPECT_THAT(compared->findings[1].message, testing::EndsWith("it was not played whole before: The board reset."));
  EXPECT_EQ(compared->findings[1].channel, broken);
  EXPECT_THAT(compared->findings[2].message, HasSubstr("another recording than the library's"));
  for (const auto& pair : compared->pairs.pairs) EXPECT_EQ(recordings[pair.recording].name, pair.name);
}

TEST_F(PlayedAnswersTest, AForeignLibraryAndABoardAgainstItselfAreSaid) {
  const auto other = compare_played(library(77), before(), after());
  ASSERT_FALSE(other);
  EXPECT_THAT(other.error().what, HasSubstr("another recording than the library's"));
  const auto itself = compare_played(library(), after(), after());
  ASSERT_TRUE(itself);
  ASSERT_EQ(itself->findings.size(), 1U);
  EXPECT_EQ(itself->findings[0].kind, "same_firmware");
  EXPECT_FALSE(compare_played({}, before(), after()));
}

TEST_F(PlayedAnswersTest, ADamagedFileIsRefusedWithItsPlace) {
  const auto refused = [&](const std::string& text, const char* words) {
    const auto answers = read(text);
    ASSERT_FALSE(answers) << words;
    EXPECT_THAT(answers.error().what, HasSubstr(words));
    EXPECT_THAT(answers.error().where, HasSubstr("answers.json"));
  };
  const auto changed = [&](const auto& change) {
    auto json = nlohmann::ordered_json::parse(after_text_);
    change(json);
    return json.dump();
  };
  using Json = nlohmann::ordered_json;
  refused("", "no JSON");
  refused("[1, 2]", "does not hold the answers");
  refused(changed([](Json& j) { j.erase("mark"); }), "does not hold the answers");
  refused(changed([](Json& j) { j["version"] = 2; }), "version 2");
  refused(changed([](Json& j) { j["answers"][0]["decision_sample"] = 5'000'000; }), "after its last sample");
  refused(changed([](Json& j) { j["answers"][0]["samples"] = -3; }), "whole number");
  refused(changed([](Json& j) { j["answers"][1]["recording"] = j["answers"][0]["recording"]; }), "twice");
  refused(changed([](Json& j) { j["answers"][0]["played_whole"] = "yes"; }), "type");
  refused(changed([](Json& j) { j["stream"]["period_ns"] = 0; }), "stream");
  refused(changed([](Json& j) { j["stream"]["scale_mps2_per_count"][1] = -1.0; }), "not positive");
  refused(changed([](Json& j) { j.erase("firmware"); }), "firmware");
  for (std::size_t cut = 0; cut < after_text_.size(); cut += 97) EXPECT_FALSE(read(after_text_.substr(0, cut))) << cut;
  EXPECT_FALSE(read_played_answers(folder_.path()));
  EXPECT_FALSE(read_played_answers(folder_ / "none.json"));
}

}  // namespace
}  // namespace coldstroke::daq
