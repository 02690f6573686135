// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/recording.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "analysis/detector/board_counts.hpp"
#include "analysis/detector/prepared_library.hpp"
#include "tests/analysis/detector/random_library.hpp"

namespace coldstroke::analysis {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

std::vector<Recording> two() {
  Recording fire, silent;
  fire.name = "fire";
  fire.label = Label::must_fire;
  fire.sample_rate_hz = silent.sample_rate_hz = 1000.0;
  fire.axes[2].assign(200, 50.0);
  fire.first_motion_seconds = 0.01;
  fire.deadline_seconds = 0.05;
  silent.name = "silent";
  silent.axes[2].assign(200, 9.8);
  return {fire, silent};
}

std::string fault(const std::vector<Recording>& library) {
  const auto checked = check_library(library, Axis::z);
  if (checked) return "accepted";
  EXPECT_FALSE(checked.error().remedy.empty());
  return checked.error().what + " | " + checked.error().where;
}

std::vector<std::string> kinds(const std::vector<Recording>& library) {
  const auto checked = check_library(library, Axis::z);
  std::vector<std::string> out;
  for (const Finding& f : checked.value()) out.push_back(f.kind + ":" + f.channel);
  return out;
}

TEST(CheckLibrary, RefusesWhatCannotBeReplayed) {
  EXPECT_EQ(fault(two()), "accepted");
  EXPECT_THAT(fault({}), HasSubstr("no recordings | library"));
  auto bad = two();
  bad[1].axes[2][17] = std::nan("");
  EXPECT_EQ(fault(bad), "a sample is not a number | recording \"silent\", sample 17");
  bad[1].axes[2][17] = std::numeric_limits<double>::infinity();
  EXPECT_THAT(fault(bad), HasSubstr("sample 17"));
  bad = two();
  bad[0].axes[2].clear();
  EXPECT_THAT(fault(bad), HasSubstr("no samples along axis z | recording \"fire\""));
  bad = two();
  bad[0].sample_rate_hz = 0.0;
  EXPECT_THAT(fault(bad), HasSubstr("a sample rate of"));
  bad = two();
  bad[0].first_motion_seconds = 0.3;
  EXPECT_THAT(fault(bad), HasSubstr("is not inside the recording"));
  bad = two();
  bad[0].deadline_seconds = 0.0;
  EXPECT_THAT(fault(bad), HasSubstr("no decision deadline"));
}

TEST(CheckLibrary, RefusesContradictoryLabels) {
  auto bad = two();
  bad[1].name = "fire";
  EXPECT_EQ(fault(bad), "labelled both must_fire and must_stay_silent | recording \"fire\"");
  bad = two();
  bad[1].axes = bad[0].axes;
  EXPECT_THAT(fault(bad), HasSubstr("the same samples are labelled both"));
  bad = two();
  bad.push_back(bad[1]);
  EXPECT_THAT(fault(bad), HasSubstr("two recordings have this name"));
}

TEST(CheckLibrary, FindsWhatTheReaderMustKnow) {
  EXPECT_THAT(kinds(two()), ElementsAre());
  auto odd = two();
  odd[1].sample_rate_hz = 500.0;
  EXPECT_THAT(kinds(odd), ElementsAre("mixed_sample_rates:"));
  odd = two();
  odd[0].sensor_range_g = 16.0;
  for (std::size_t k = 30; k < 36; ++k) odd[0].axes[2][k] = 16.0 * kStandardGravity;
  EXPECT_THAT(kinds(odd), ElementsAre("clipped:fire"));
  EXPECT_THAT(check_library(odd, Axis::z)->front().message,
              HasSubstr("6 samples at the end of the accelerometer's range, first at sample 30"));
  odd = two();
  odd.push_back(odd[1]);
  odd[2].name = "again";
  EXPECT_THAT(kinds(odd), ElementsAre("repeated_recording:again"));
  odd = two();
  odd.pop_back();
  odd[0].deadline_seconds = 0.5;
  EXPECT_THAT(kinds(odd), ElementsAre("short_recording:fire", "no_silent_recordings:"));
}

TEST(PrepareLibrary, SaysWhatTheBoardWouldNotHaveSeen) {
  auto library = two();
  library[0].sample_rate_hz = library[1].sample_rate_hz = 500.0;
  library[0].axes[2][20] = 40.0 * kStandardGravity;
  const auto prepared = prepare_library(library, Axis::z, kTestBoard);
  ASSERT_TRUE(prepared);
  std::vector<std::string> found;
  for (const Finding& f : prepared->findings) found.push_back(f.kind + ":" + f.channel);
  EXPECT_THAT(found, ElementsAre("slower_than_board:fire", "clipped_by_board:fire", "slower_than_board:silent"));
  EXPECT_EQ(prepared->recordings[0].counts.size(), 399u) << "200 samples at 500 Hz span 398 ms";
  EXPECT_EQ(prepared->recordings[0].counts[40], 2047);
  EXPECT_FALSE(prepare_library(library, Axis::z, {}));
  EXPECT_FALSE(prepare_library(library, Axis::x, kTestBoard));
}

TEST(PrepareLibrary, PutsFirstMotionAndDeadlineOnSamples) {
  auto library = two();
  library[0].first_motion_seconds = 0.0101;  // between samples 10 and 11
  library[0].deadline_seconds = 0.02;        // to 30.1 ms
  const auto p = prepare_library(library, Axis::z, kTestBoard);
  EXPECT_EQ(p->recordings[0].first_motion_index, 11u);
  EXPECT_EQ(p->recordings[0].last_in_time_index, 30u);
  library[0].first_motion_seconds = 0.3 - 0.2;  // 0.09999999999999998: sample 100 all the same
  library[0].deadline_seconds = 0.02;
  const auto q = prepare_library(library, Axis::z, kTestBoard);
  EXPECT_EQ(q->recordings[0].first_motion_index, 100u);
  EXPECT_EQ(q->recordings[0].last_in_time_index, 120u);
  EXPECT_EQ(judge(q->recordings[0], 1000.0, 99).outcome, ReplayOutcome::early);
  EXPECT_EQ(judge(q->recordings[0], 1000.0, 100).outcome, ReplayOutcome::in_time);
  EXPECT_EQ(judge(q->recordings[0], 1000.0, 120).outcome, ReplayOutcome::in_time);
  EXPECT_EQ(judge(q->recordings[0], 1000.0, 121).outcome, ReplayOutcome::late);
  EXPECT_EQ(judge(q->recordings[0], 1000.0, std::nullopt).outcome, ReplayOutcome::missed);
  EXPECT_EQ(judge(q->recordings[1], 1000.0, 5).outcome, ReplayOutcome::false_decision);
  EXPECT_EQ(judge(q->recordings[1], 1000.0, std::nullopt).outcome, ReplayOutcome::silent);
  EXPECT_NEAR(*judge(q->recordings[0], 1000.0, 121).latency_seconds, 0.021, 1e-12);
}

TEST(BoardCounts, RoundHalvesAwayFromZeroAndHoldAtTheEnds) {
  const BoardSampling board{1000.0, 8, 128.0};  // one count is 1 g
  const double g = kStandardGravity;
  EXPECT_EQ(count_of(2.4 * g, board), 2);
  EXPECT_EQ(count_of(2.5 * g, board), 3);
  EXPECT_EQ(count_of(-2.5 * g, board), -3);
  EXPECT_EQ(count_of(1000.0 * g, board), 127);
  EXPECT_EQ(count_of(-1000.0 * g, board), -128);
  const std::vector<double> samples{0.0, 4.0 * g, 200.0 * g};
  const BoardCounts same = board_counts(samples, 1000.0, board), faster = board_counts(samples, 500.0, board),
                    slower = board_counts(samples, 2000.0, board);
  EXPECT_THAT(same.counts, ElementsAre(0, 4, 127));
  EXPECT_EQ(same.clipped_samples, 1u);
  EXPECT_THAT(faster.counts, ElementsAre(0, 2, 4, 102, 127));
  EXPECT_THAT(slower.counts, ElementsAre(0, 127));
}

TEST(Vary, ScalesAboutRestStretchesAfterFirstMotionAndShifts) {
  Recording r = two()[0];
  r.rest_g = {0.0, 0.0, 1.0};
  for (std::size_t k = 0; k < 200; ++k) r.axes[2][k] = (1.0 + (k >= 10 && k < 50 ? 8.0 : 0.0)) * kStandardGravity;
  const Recording half = vary(r, {.level_factor = 0.5});
  EXPECT_DOUBLE_EQ(half.axes[2][5], kStandardGravity);
  EXPECT_DOUBLE_EQ(half.axes[2][20], 5.0 * kStandardGravity);
  const Recording shorter = vary(r, {.time_factor = 0.5});
  EXPECT_EQ(shorter.axes[2].size(), 105u) << "10 ms before, then half of 189 ms";
  EXPECT_NEAR(shorter.axes[2][29], 9.0 * kStandardGravity, 1e-9);
  EXPECT_NEAR(shorter.axes[2][30], kStandardGravity, 1e-9);
  EXPECT_DOUBLE_EQ(vary(r, {.offset_g = 0.4}).axes[2][5], 1.4 * kStandardGravity);
  EXPECT_EQ(vary(r, {.noise_rms_g = 0.1, .noise_seed = 4}), vary(r, {.noise_rms_g = 0.1, .noise_seed = 4}));
  EXPECT_NE(vary(r, {.noise_rms_g = 0.1, .noise_seed = 4}).axes, vary(r, {.noise_rms_g = 0.1, .noise_seed = 5}).axes);
  EXPECT_EQ(vary(r, {}).axes, r.axes);
  EXPECT_EQ(vary(r, {}).provenance, Provenance::variant);
}

/// A bench recording's rate is the board's, as the host's clock tells it: nothing is read between samples, and first motion is
/// the same sample however long the record was.
TEST(PrepareLibrary, ARateToldByAnotherClockIsTheBoardsOwn) {
  auto library = two();
  for (Recording& r : library) r.axes[2].resize(20'000, 9.8), r.axes[2][15'000] = 33.0;
  library[0].first_motion_seconds = 15.0;
  const auto exact = prepare_library(library, Axis::z, {1000.0, 16, 64.0});
  for (Recording& r : library) r.sample_rate_hz *= 1.0 + 80.0e-6;
  library[1].sample_rate_hz = 1000.0 * (1.0 - 50.0e-6);
  library[0].first_motion_seconds /= 1.0 + 80.0e-6;
  const auto drifted = prepare_library(library, Axis::z, {1000.0, 16, 64.0});
  ASSERT_TRUE(exact);
  ASSERT_TRUE(drifted);
  EXPECT_EQ(drifted->recordings[0].counts, exact->recordings[0].counts);
  EXPECT_EQ(drifted->recordings[1].counts, exact->recordings[1].counts);
  EXPECT_EQ(drifted->recordings[0].first_motion_index, exact->recordings[0].first_motion_index);
  EXPECT_EQ(drifted->findings.size(), exact->findings.size()) << "neither mixed rates nor slower than the board";
}

}  // namespace
}  // namespace coldstroke::analysis
