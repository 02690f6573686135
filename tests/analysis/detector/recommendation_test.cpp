// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/recommendation.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "analysis/detector/synthesise.hpp"
#include "tests/analysis/detector/random_library.hpp"

namespace coldstroke::analysis {
namespace {

using testing::Contains;
using testing::HasSubstr;

RecommendationRequest request() {
  RecommendationRequest r;
  r.spec.name = "asked for";
  r.spec.building_g = 1.0;
  r.spec.board = {2000.0, 16, 64.0};
  for (int i = 1; i <= 20; ++i) r.window_seconds.push_back(0.002 * i);
  for (int i = 2; i <= 40; ++i) r.thresholds.push_back(0.25 * i);
  r.igniter_delay_seconds = 0.02;
  r.ignition_window_end_seconds = 0.08;
  return r;
}

TEST(Recommend, NoOtherCandidateHasALargerSmallestMargin) {
  const auto library = *synthetic_library(12, 2, Scene{});
  const auto asked = request();
  const auto found = recommend(library, asked);
  ASSERT_TRUE(found && *found);
  const Recommendation& out = **found;
  ASSERT_TRUE(out.proposal) << out.reason;
  EXPECT_EQ(out.proposal->summary.outcome, CellOutcome::always_in_time);
  EXPECT_NEAR(out.proposal->latest_safe_decision_seconds, 0.06, 1e-12);
  // By another way: levels from the naive running mean of every recording, all candidates.
  const auto prepared = prepare_library(library, Axis::z, asked.spec.board);
  double best = -1.0;
  for (const double window : asked.window_seconds) {
    const auto n = static_cast<std::size_t>(std::lround(window * 2000.0));
    for (const double threshold : asked.thresholds) {
      double weakest = 1e9, loudest = 0.0, slowest = 0.0;
      for (const auto& r : prepared->recordings) {
        double sum = 0.0;
        bool decided = false;
        double in_time = 0.0, silent = 0.0;
        for (std::size_t k = 0; k < r.counts.size(); ++k) {
          sum += r.counts[k] - 512 - (k >= n ? r.counts[k - n] - 512 : 0);  // 512 counts a g
          const double mean = sum / static_cast<double>(n) / 512.0;
          if (r.label == Label::must_stay_silent || k < r.first_motion_index) silent = std::max(silent, mean);
          if (r.label == Label::must_fire && k <= r.last_in_time_index) in_time = std::max(in_time, mean);
          if (r.label == Label::must_fire && !decided && mean >= threshold) {
            decided = true;
            slowest = std::max(slowest, static_cast<double>(k) / 2000.0 - r.first_motion_seconds);
          }
        }
        if (r.label == Label::must_fire) weakest = std::min(weakest, in_time);
        loudest = std::max(loudest, silent);
      }
      if (weakest >= threshold && loudest < threshold)
        best = std::max(best, std::min({1.0 - threshold / weakest, 1.0 - loudest / threshold, (0.06 - slowest) / 0.06}));
    }
  }
  EXPECT_NEAR(out.proposal->margins.smallest(), best, 1e-6);
  EXPECT_GT(best, 0.0);
}

TEST(Recommend, ItsDeadlineForbidsLateDecisionsAndLetsAllInTimeThrough) {
  const auto library = *synthetic_library(12, 2, Scene{});
  const auto found = recommend(library, request());
  const Proposal& p = *(*found)->proposal;
  ASSERT_TRUE(p.spec.deadline_seconds) << (*found)->reason;
  const auto settings = *settings_of(p.spec);
  const auto prepared = *prepare_library(library, Axis::z, p.spec.board);
  for (const auto& r : prepared.recordings) {
    if (r.label != Label::must_fire) continue;
    const auto changes = state_changes(settings, r.counts);
    EXPECT_EQ(changes.back().state, DetectorState::decided) << r.name;
    // The same board deaf to the pulse inhibits itself while a decision would still have been safe.
    DetectorSettings deaf = settings;
    deaf.threshold_counts = 1'000'000;
    const auto inhibited = state_changes(deaf, r.counts).back();
    EXPECT_EQ(inhibited.state, DetectorState::inhibited);
    EXPECT_LE(static_cast<double>(inhibited.sample_index) / 2000.0 - r.first_motion_seconds, 0.06 + 1e-9) << r.name;
  }
}

TEST(Recommend, SaysWhatIsMissing) {
  auto library = *synthetic_library(4, 1, Scene{});
  std::erase_if(library, [](const Recording& r) { return r.event == Event::line_snag; });
  const auto found = recommend(library, request());
  const auto& missing = (*found)->missing_evidence;
  EXPECT_THAT(missing, Contains(HasSubstr("no must-fire recording comes from a real ejection")));
  EXPECT_THAT(missing, Contains("no must-stay-silent recording of line_snag"));
  EXPECT_THAT(missing, Contains("recordings of carrying are all computed, none was measured"));
  for (auto& r : library) r.provenance = Provenance::bench;
  EXPECT_THAT(missing_evidence(library, {}),
              Contains(HasSubstr("only 4 must-fire recordings come from real ejections: all of them "
                                 "right shows no more than 47 % reliability")));
}

TEST(Recommend, OwnsUpWhenNothingServes) {
  auto library = *synthetic_library(4, 1, Scene{});
  Recording loud = library.front();  // an ejection's twin that must stay silent, but for one sample
  loud.name = "twin";
  loud.label = Label::must_stay_silent;
  loud.axes[2][0] += 1e-6;
  library.push_back(loud);
  const auto found = recommend(library, request());
  ASSERT_TRUE(found && *found);
  EXPECT_FALSE((*found)->proposal);
  EXPECT_THAT((*found)->reason, HasSubstr("none of the 780 settings gets every recording right"));
}

TEST(Recommend, RefusesWhatCannotBe) {
  const auto library = *synthetic_library(2, 1, Scene{});
  auto asked = request();
  asked.igniter_delay_seconds = 0.1;
  EXPECT_THAT(recommend(library, asked).error().remedy, HasSubstr("faster igniter"));
  asked = request();
  asked.thresholds.clear();
  EXPECT_FALSE(recommend(library, asked));
  EXPECT_FALSE(recommend({}, request()));
  const auto cancelled = recommend(library, request(), [] { return true; });
  ASSERT_TRUE(cancelled);
  EXPECT_FALSE(*cancelled);
}

}  // namespace
}  // namespace coldstroke::analysis
