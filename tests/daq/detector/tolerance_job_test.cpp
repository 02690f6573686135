// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/tolerance_job.hpp"

#include <gtest/gtest.h>

#include <atomic>

#include "analysis/detector/synthesise.hpp"
#include "daq/detector/spread_work.hpp"

namespace coldstroke::daq {
namespace {

std::vector<analysis::Recording> mixed_library() {
  analysis::Scene scene;
  scene.seed = 7;
  scene.noise_rms_g = 0.02;
  return analysis::synthetic_library(6, 1, scene).value();
}

analysis::DetectorSpec detector() {
  analysis::DetectorSpec spec;
  spec.name = "mean of 30 ms";
  spec.window_seconds = 0.030;
  spec.threshold_g = 4.5;
  spec.building_g = 1.0;
  spec.board = {2000.0, 16, 64.0};
  return spec;
}

constexpr analysis::ToleranceSteps kSteps{.fraction_step = 0.05, .level_step_g = 0.25};

TEST(ToleranceJob, GivesTheSameAnswerAsOneRecordingAfterTheOtherOnAnyNumberOfThreads) {
  const auto library = mixed_library();
  const auto spec = detector();
  const auto search = plan_tolerances(library, spec, kSteps);
  ASSERT_TRUE(search) << search.error().what;
  ASSERT_TRUE(search->wrong_as_recorded.empty());
  const auto plain = tolerances(*search);
  ASSERT_TRUE(plain);
  EXPECT_GE(plain->each.size(), 8U);
  for (const unsigned threads : {1U, 2U, 5U}) {
    std::size_t last = 0, total = 0;
    const auto spread = compute_tolerances(*search, threads, [&](std::size_t done, std::size_t of) {
      EXPECT_EQ(done, last + 1);
      last = done;
      total = of;
    });
    ASSERT_TRUE(spread);
    EXPECT_EQ(spread->each, plain->each) << threads;
    EXPECT_EQ(last, total);
  }
}

TEST(ToleranceJob, StopsWhenAsked) {
  const auto library = mixed_library();
  const auto spec = detector();
  const auto search = plan_tolerances(library, spec, kSteps).value();
  std::atomic<int> asked{0};
  EXPECT_FALSE(compute_tolerances(search, 2, {}, [&asked] { return ++asked > 20; }));
}

TEST(SpreadWork, DoesEveryPieceOnceAndStopsAtOneThatSaysSo) {
  std::vector<std::atomic<int>> times(100);
  EXPECT_TRUE(
      spread_work(times.size(), 4, [&](std::size_t at, const std::function<bool()>&) { return ++times[at] > 0; }, {}, {}));
  for (const auto& one : times) EXPECT_EQ(one, 1);
  EXPECT_FALSE(spread_work(100, 1, [](std::size_t at, const std::function<bool()>&) { return at < 3; }, {}, {}));
  EXPECT_TRUE(spread_work(0, 0, [](std::size_t, const std::function<bool()>&) { return false; }, {}, {}));
}

}  // namespace
}  // namespace coldstroke::daq
