// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/sequence/sequence.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <deque>
#include <set>

namespace coldstroke::daq {
namespace {

constexpr Step step_at(std::size_t k) { return static_cast<Step>(k); }
constexpr SequenceEvent event_at(std::size_t k) { return static_cast<SequenceEvent>(k); }

bool does(const Row& row, Action action) { return std::ranges::find(row.actions, action) != row.actions.end(); }

/// Steps in which the reservoir may hold pressure and gas may move towards it or out of it.
const std::set<Step> kUnderPressure{Step::charging, Step::settling, Step::counting, Step::releasing};

TEST(Sequence, AbortAnswersInEveryStepAndMakesSafeAtOnce) {
  for (std::size_t s = 0; s < kSteps; ++s) {
    const Row* row = transition(step_at(s), SequenceEvent::abort_requested);
    ASSERT_NE(row, nullptr) << word(step_at(s));
    EXPECT_FALSE(row->guarded) << word(step_at(s));
    EXPECT_TRUE(does(*row, Action::make_safe)) << word(step_at(s));
    EXPECT_FALSE(kUnderPressure.contains(row->to)) << word(step_at(s));
  }
}

TEST(Sequence, OnlyAPersonLeadsTowardsPressure) {
  for (const Row& row : sequence_table()) {
    if (!does(row, Action::start_charge)) continue;
    EXPECT_EQ(row.on, SequenceEvent::charge_requested) << row.meaning;
    EXPECT_TRUE(row.guarded) << row.meaning;
  }
}

TEST(Sequence, ReleaseComesOnlyAtTheEndOfACountAndGuarded) {
  int releases = 0;
  for (const Row& row : sequence_table()) {
    if (!does(row, Action::start_release)) continue;
    ++releases;
    EXPECT_EQ(row.from, Step::counting);
    EXPECT_EQ(row.on, SequenceEvent::deadline_passed);
    EXPECT_TRUE(row.guarded);
  }
  EXPECT_EQ(releases, 1);
}

TEST(Sequence, NoStringOfEventsReachesReleaseButThroughChargingSettlingAndCounting) {
  // every path, breadth first, remembering which steps it came through
  struct Path {
    Step step;
    std::uint32_t through;
    auto operator<=>(const Path&) const = default;
  };
  std::set<Path> seen;
  std::deque<Path> open{{Step::idle, 0}};
  while (!open.empty()) {
    const Path path = open.front();
    open.pop_front();
    if (!seen.insert(path).second) continue;
    for (std::size_t e = 0; e < kSequenceEvents; ++e) {
      const Row* row = transition(path.step, event_at(e));
      if (row == nullptr) continue;
      const std::uint32_t through = row->to == Step::idle ? 0 : path.through | (1U << static_cast<unsigned>(row->to));
      open.push_back({row->to, through});
    }
  }
  const auto bit = [](Step step) { return 1U << static_cast<unsigned>(step); };
  const std::uint32_t needed = bit(Step::checks) | bit(Step::charging) | bit(Step::settling) | bit(Step::counting);
  for (const Path& path : seen) {
    if (path.step != Step::releasing && path.step != Step::recording) continue;
    EXPECT_EQ(path.through & needed, needed);
  }
  EXPECT_GE(seen.size(), kSteps);
}

TEST(Sequence, EveryStepUnderPressureVentsWhenAnInterlockIsLostOrTheBoardVents) {
  for (const Step step : kUnderPressure)
    for (const SequenceEvent event :
         {SequenceEvent::interlock_lost, SequenceEvent::board_vented_itself, SequenceEvent::live_channel_found}) {
      const Row* row = transition(step, event);
      ASSERT_NE(row, nullptr) << word(step) << ", " << word(event);
      EXPECT_TRUE(does(*row, Action::make_safe)) << word(step);
      EXPECT_TRUE(does(*row, Action::mark_aborted)) << word(step) << ", " << word(event);
      EXPECT_FALSE(row->guarded);
    }
}

TEST(Sequence, EveryStepUnderPressureEndsByItselfWithoutAPerson) {
  // waiting only: deadlines, and the pressure going low once the vent is open
  for (const Step first : kUnderPressure) {
    Step step = first;
    bool vented = false;
    for (int k = 0; k < 8 && step != Step::review && step != Step::keep_clear; ++k) {
      const Row* row = vented ? transition(step, SequenceEvent::pressure_low) : transition(step, SequenceEvent::deadline_passed);
      ASSERT_NE(row, nullptr) << word(step);
      vented = vented || does(*row, Action::make_safe);
      step = row->to;
    }
    EXPECT_TRUE(vented) << word(first);
    EXPECT_TRUE(step == Step::review || step == Step::keep_clear) << word(step);
  }
}

TEST(Sequence, NothingLeadsFromAVentedStepBackUnderPressureButThroughIdle) {
  const std::set<Step> vented{Step::venting, Step::aborting, Step::review, Step::keep_clear, Step::locked_out};
  for (const Row& row : sequence_table()) {
    if (!vented.contains(row.from)) continue;
    EXPECT_FALSE(kUnderPressure.contains(row.to)) << row.meaning;
  }
}

TEST(Sequence, WhateverStopsAReleaseBeforeMotionIsTreatedAsAHang) {
  for (const SequenceEvent event : {SequenceEvent::abort_requested, SequenceEvent::interlock_lost,
                                    SequenceEvent::board_vented_itself, SequenceEvent::deadline_passed}) {
    const Row* row = transition(Step::releasing, event);
    ASSERT_NE(row, nullptr);
    EXPECT_EQ(row->to, Step::keep_clear) << word(event);
    EXPECT_TRUE(does(*row, Action::mark_hang)) << word(event);
  }
}

TEST(Sequence, EveryStepMeetsEveryEventInARowOrADisregard) {
  for (std::size_t s = 0; s < kSteps; ++s)
    for (std::size_t e = 0; e < kSequenceEvents; ++e) {
      const auto disregards = std::ranges::count_if(sequence_disregards(),
                                                    [&](const Disregard& d) { return d.on == event_at(e) && d.in(step_at(s)); });
      const int rows = transition(step_at(s), event_at(e)) != nullptr ? 1 : 0;
      EXPECT_EQ(disregards + rows, 1) << word(step_at(s)) << ", " << word(event_at(e));
    }
}

TEST(Sequence, ACountThatEndsWithAnInterlockOpenIsAnInterlockLostAndNeverWaits) {
  const Row* row = answer(sequence_table(), Step::counting, SequenceEvent::deadline_passed, [](Step) { return false; });
  ASSERT_NE(row, nullptr);
  EXPECT_EQ(row->to, Step::aborting);
  EXPECT_EQ(answer(sequence_table(), Step::settling, SequenceEvent::count_requested, [](Step) { return false; }), nullptr);
}

TEST(Sequence, EveryWordIsItsOwn) {
  std::set<std::string> words;
  for (std::size_t s = 0; s < kSteps; ++s) words.insert(word(step_at(s)));
  EXPECT_EQ(words.size(), kSteps);
  words.clear();
  for (std::size_t e = 0; e < kSequenceEvents; ++e) words.insert(word(event_at(e)));
  EXPECT_EQ(words.size(), kSequenceEvents);
}

}  // namespace
}  // namespace coldstroke::daq
