// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/event_view.hpp"

#include <gtest/gtest.h>

#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

TEST(StrokeStretch, ShowsTheWholeStrokeWithRoomOnBothSides) {
  const ReportTrial trial = invented_trial();
  const Stretch stretch = stroke_stretch(trial.traces, trial.result.marks);
  EXPECT_LT(stretch.from_seconds, *trial.result.marks.release_commanded_seconds);
  EXPECT_GT(stretch.to_seconds, *trial.result.marks.separation_seconds);
  EXPECT_LT(stretch.length(), 0.2);
}

TEST(StrokeStretch, LeavesALateDecisionToTheOtherView) {
  const ReportTrial trial = invented_trial({.latency_seconds = 1.84});
  EXPECT_LT(stroke_stretch(trial.traces, trial.result.marks).to_seconds, *trial.result.marks.decision_seconds);
  EXPECT_GT(all_marks_stretch(trial.traces, trial.result.marks).to_seconds, *trial.result.marks.decision_seconds);
}

TEST(StrokeStretch, ShowsEverythingWithoutAFirstMotion) {
  const ReportTrial trial = invented_trial();
  EXPECT_EQ(stroke_stretch(trial.traces, {}), whole_record(trial.traces));
}

TEST(WholeRecord, IsHarmlessWithoutTraces) { EXPECT_GT(whole_record({}).length(), 0.0); }

TEST(MarkList, IsInOrderOfTimeWhateverTheDetectorDid) {
  analysis::Marks marks;
  marks.first_motion_seconds = 1.0;
  marks.decision_seconds = 0.4;  // early
  const auto list = mark_list(marks);
  ASSERT_EQ(list.size(), 2U);
  EXPECT_EQ(list[0].word, "decision");
}

TEST(StackingOrder, LeavesOutTracesThatCannotBeDrawn) {
  analysis::TraceSet set = invented_traces(30.0);
  set.traces[1].samples.clear();
  set.traces[2].period_seconds = 0.0;
  const auto order = stacking_order(set);
  ASSERT_EQ(order.size(), 2U);
  EXPECT_EQ(order[0]->role, analysis::Role::force);
}

}  // namespace
}  // namespace coldstroke::gui
