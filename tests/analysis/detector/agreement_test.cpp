// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/agreement.hpp"

#include "analysis/detector/before_after_answer.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/analysis/detector/random_library.hpp"

namespace coldstroke::analysis {
namespace {

using enum DetectorState;
using testing::HasSubstr;

TEST(Playback, AgreesWithItself) {
  const std::vector<StateChange> changes{{5, building}, {9, decided}};
  const auto a = compare_playback(changes, changes, 100);
  ASSERT_TRUE(a);
  EXPECT_TRUE(a->agrees());
  EXPECT_EQ(a->samples_compared, 100u);
  EXPECT_EQ(a->predicted_decision, 9u);
  EXPECT_FALSE(playback_finding(*a, "s", 1000.0));
}

TEST(Playback, CountsEverySampleThatDiffers) {
  const std::vector<StateChange> predicted{{5, building}, {9, decided}}, late{{5, building}, {12, decided}},
      never{{6, building}, {40, inhibited}};
  const auto a = compare_playback(predicted, late, 100);
  EXPECT_EQ(a->samples_differing, 3u);
  EXPECT_EQ(a->first_difference, 9u);
  EXPECT_EQ(a->predicted_there, decided);
  EXPECT_EQ(a->reported_there, building);
  const auto b = compare_playback(predicted, never, 100);
  EXPECT_EQ(b->samples_differing, 1u + 91u);
  EXPECT_EQ(b->first_difference, 5u);
  EXPECT_FALSE(b->reported_decision);
  const auto finding = playback_finding(*b, "knock 3", 1000.0);
  ASSERT_TRUE(finding);
  EXPECT_EQ(finding->kind, "firmware_differs");
  EXPECT_EQ(finding->channel, "knock 3");
  EXPECT_THAT(finding->message, HasSubstr("92 of 100 samples differ; predicted a decision at sample 9"));
  EXPECT_THAT(finding->message, HasSubstr("reported no decision"));
}

/// The walk over changes against the plain comparison of two states a sample.
TEST(Playback, EqualsTheComparisonSampleBySample) {
  for (std::uint64_t seed = 0; seed < 500; ++seed) {
    Engine engine{seed};
    const std::size_t count = 80;
    const auto drawn = [&] {
      std::vector<StateChange> out;
      for (std::size_t at = engine() % 30; at < count; at += engine() % 25) {
        out.push_back({at, static_cast<DetectorState>(engine() % 4)});
        if (out.size() > 12) break;
      }
      return out;
    };
    const auto p = drawn(), r = drawn();
    const auto state = [](const std::vector<StateChange>& changes, std::size_t k) {
      DetectorState s = idle;
      for (const auto& c : changes)
        if (c.sample_index <= k) s = c.state;
      return s;
    };
    std::size_t differing = 0;
    std::optional<std::size_t> first;
    for (std::size_t k = 0; k < count; ++k) {
      if (state(p, k) == state(r, k)) continue;
      ++differing;
      first = first.value_or(k);
    }
    const auto a = compare_playback(p, r, count);
    ASSERT_TRUE(a) << seed;
    EXPECT_EQ(a->samples_differing, differing) << seed;
    EXPECT_EQ(a->first_difference, first) << seed;
  }
}

TEST(Playback, ABoardThatLostCountIsAComplaint) {
  const std::vector<StateChange> good{{5, building}}, back{{50, building}, {3, building}}, beyond{{100, decided}};
  EXPECT_THAT(compare_playback(good, back, 100).error().where, HasSubstr("reported change of state 2"));
  EXPECT_THAT(compare_playback(good, beyond, 100).error().what, HasSubstr("sample 100 of a stimulus of 100"));
}

TEST(Playback, PredictsFromTheStatedSettings) {
  DetectorSettings s;
  s.kind = DetectorKind::sustained;
  s.threshold_counts = 10;
  s.building_counts = 5;
  const std::vector<std::int32_t> counts{0, 0, 6, 6, 12, 12};
  const std::vector<StateChange> reported{{2, building}, {4, decided}};
  EXPECT_TRUE(compare_playback(s, counts, reported)->agrees());
  s.threshold_counts = 13;
  EXPECT_EQ(compare_playback(s, counts, reported)->first_difference, 4u);
}

std::vector<Recording> pulses() {
  std::vector<Recording> out;
  for (const auto& [name, level, label] : std::vector<std::tuple<const char*, double, Label>>{
           {"hard", 12.0, Label::must_fire}, {"soft", 3.5, Label::must_fire}, {"bump", 3.2, Label::must_stay_silent}}) {
    Recording r;
    r.name = name;
    r.label = label;
    r.sample_rate_hz = 1000.0;
    r.first_motion_seconds = 0.05;
    r.deadline_seconds = 0.03;
    for (std::size_t k = 0; k < 200; ++k) r.axes[2].push_back((1.0 + (k >= 50 && k < 90 ? level : 0.0)) * kStandardGravity);
    out.push_back(r);
  }
  return out;
}

DetectorSpec mean(double threshold_g) {
  DetectorSpec s;
  s.name = "mean";
  s.window_samples = 10;
  s.threshold_g = threshold_g;
  s.building_g = 0.5;
  s.board = kTestBoard;
  return s;
}

TEST(CompareDetectors, PairsOutcomesOnIdenticalRecordings) {
  const auto c = compare_detectors(pulses(), mean(4.0), mean(3.0));
  ASSERT_TRUE(c);
  EXPECT_EQ(c->right_before, 2u) << "hard in time, bump silent";
  EXPECT_EQ(c->wrong_before, 1u) << "soft missed";
  EXPECT_EQ(c->mended, 1u) << "soft";
  EXPECT_EQ(c->broken, 1u) << "bump now decides";
  EXPECT_EQ(c->right_after, 2u);
  EXPECT_EQ(c->latencies_before_seconds.size(), 1u);
  EXPECT_EQ(c->latencies_after_seconds.size(), 2u);
  ASSERT_EQ(c->latency_changes_seconds.size(), 1u);
  EXPECT_NEAR(c->latency_changes_seconds[0], -0.001, 1e-12) << "ceil(10*4/12) = 4 samples, ceil(10*3/12) = 3";
  EXPECT_EQ(c->pairs[c->worst_first.front()].name, "bump");
  EXPECT_EQ(c->pairs[c->worst_first.back()].name, "soft") << "right after, no latency to compare";
}

/// `copies` of each, no two the same.
std::vector<Recording> many_pulses(int copies) {
  std::vector<Recording> library;
  for (int i = 0; i < copies; ++i)
    for (Recording r : pulses()) {
      r.name += " " + std::to_string(i);
      r.axes[2].back() += 0.001 * i;
      library.push_back(std::move(r));
    }
  return library;
}

TEST(AnswerBeforeAfter, AGainDoesNotHideALossOfTheOtherKind) {
  const auto sentence = [](int copies, double from_g, double to_g) {
    return answer_before_after(*compare_detectors(many_pulses(copies), mean(from_g), mean(to_g)), "before", "after", 0.002)
        ->sentence;
  };
  // As many mended as broken: the sum of both kinds says nothing at all.
  EXPECT_THAT(sentence(12, 4.0, 3.0),
              testing::StartsWith("Mixed, better where it must fire (12 mended, 0 broken, p < 0.001) and worse where it must "
                                  "stay silent (0 mended, 12 broken, p < 0.001) from \"before\" to \"after\": "));
  EXPECT_THAT(sentence(12, 3.0, 4.0),
              testing::StartsWith("Mixed, better where it must stay silent (12 mended, 0 broken, p < 0.001) and worse where it "
                                  "must fire (0 mended, 12 broken, p < 0.001)"));
  EXPECT_THAT(sentence(2, 4.0, 3.0), HasSubstr("worse where it must stay silent (0 mended, 2 broken, p = 0.50, not shown)"));
}

TEST(AnswerBeforeAfter, SaysInOneSentenceWhatChanged) {
  const std::vector<Recording> library = many_pulses(12);
  const auto better = answer_before_after(*compare_detectors(library, mean(3.0), mean(3.3)), "three", "more", 0.002);
  ASSERT_TRUE(better) << better.error().what;
  EXPECT_THAT(better->sentence,
              testing::StartsWith("Better (p < 0.001): 12 recordings mended, 0 broken from \"three\" to \"more\": "
                                  "decided in time in 24 of 24 before and 24 of 24 after, false decisions in 12 of "
                                  "12 before and 0 of 12 after; where both decided the latency is"));
  EXPECT_THAT(better->numbers, testing::Contains(HasSubstr("False decisions, Fisher exact: two-sided p < 0.001")));
  const auto worse = answer_before_after(*compare_detectors(library, mean(3.3), mean(4.0)), "more", "four", 0.002);
  EXPECT_THAT(worse->sentence, testing::StartsWith("Worse (p < 0.001): 0 recordings mended, 12 broken"));
  const auto same = answer_before_after(*compare_detectors(library, mean(3.3), mean(3.3)), "more", "more", 0.002);
  EXPECT_THAT(same->sentence, testing::StartsWith("No recording changes sides"));
  EXPECT_FALSE(answer_before_after(*compare_detectors(library, mean(3.3), mean(4.0)), "more", "four", -1.0));
}

TEST(SideBySide, GivesEveryDetectorALine) {
  const std::vector<DetectorSpec> specs{mean(4.0), mean(3.3), mean(3.0)};
  const auto lines = side_by_side(pulses(), specs);
  ASSERT_TRUE(lines);
  EXPECT_EQ((*lines)[0].summary.outcome, CellOutcome::sometimes);
  EXPECT_EQ((*lines)[1].summary.outcome, CellOutcome::always_in_time);
  EXPECT_EQ((*lines)[2].summary.outcome, CellOutcome::false_decisions);
  auto bad = specs;
  bad[1].threshold_g = -1.0;
  EXPECT_THAT(side_by_side(pulses(), bad).error().where, HasSubstr("threshold_g"));
  EXPECT_FALSE(side_by_side({}, specs));
}

}  // namespace
}  // namespace coldstroke::analysis
