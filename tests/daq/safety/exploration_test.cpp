// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/daq/safety/exploration.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <vector>

namespace coldstroke::daq {
namespace {

auto invented_setup() {
  auto setup = parse_setup(virtual_setup_text(), "built-in");
  EXPECT_TRUE(setup) << setup.error().what;
  return *setup;
}

TEST(Exploration, EveryStateUnderEveryEventKeepsEveryProperty) {
  const Exploration found = explore(sequence_table(), invented_setup());
  std::printf("%llu states, %llu transitions, %llu of them open a valve\n", static_cast<unsigned long long>(found.states),
              static_cast<unsigned long long>(found.transitions), static_cast<unsigned long long>(found.valve_openings));
  for (const auto& [property, count] : found.checked)
    std::printf("  %12llu times  %s\n", static_cast<unsigned long long>(count), property.c_str());
  EXPECT_TRUE(found.violations.empty()) << found.first_violation;
  EXPECT_EQ(found.checked.size(), 14U);
  EXPECT_GT(found.states, 1'000'000U);
  EXPECT_GT(found.valve_openings, 0U);
}

/// A row made wrong, and the property that must notice.
struct Broken {
  const char* what;
  Step from;
  SequenceEvent on;
  void (*spoil)(std::vector<Row>&, std::size_t);
  const char* property;
};
void PrintTo(const Broken& broken, std::ostream* out) { *out << broken.what; }

constexpr std::array kOnlyMark{Action::mark_aborted};
constexpr std::array kRelease{Action::start_release};

const Broken kBroken[] = {
    {"release_without_guard", Step::counting, SequenceEvent::deadline_passed,
     [](std::vector<Row>& t, std::size_t k) { t[k].guarded = false; },
     "a step towards gas is taken only while every interlock lets it"},
    {"charge_without_guard", Step::checks, SequenceEvent::charge_requested,
     [](std::vector<Row>& t, std::size_t k) { t[k].guarded = false; },
     "a step towards gas is taken only while every interlock lets it"},
    {"abort_that_does_not_vent", Step::charging, SequenceEvent::abort_requested,
     [](std::vector<Row>& t, std::size_t k) { t[k].actions = kOnlyMark; }, "abort vents in one step from everywhere"},
    {"abort_forgotten", Step::settling, SequenceEvent::abort_requested,
     [](std::vector<Row>& t, std::size_t k) { t.erase(t.begin() + static_cast<std::ptrdiff_t>(k)); }, "no event is unhandled"},
    {"lost_interlock_goes_on", Step::settling, SequenceEvent::interlock_lost,
     [](std::vector<Row>& t, std::size_t k) { t[k].actions = {}; }, "an interlock lost under pressure vents at once"},
    {"idle_without_a_person", Step::venting, SequenceEvent::pressure_low,
     [](std::vector<Row>& t, std::size_t k) { t[k].to = Step::idle; }, "only a person's acknowledgement leads to idle"},
    {"keep_clear_cut_short", Step::keep_clear, SequenceEvent::acknowledged,
     [](std::vector<Row>& t, std::size_t k) { t[k].guarded = false; },
     "keep clear and locked out end by a person, after the wait, proven low, nothing live"},
    {"held_for_ever", Step::settling, SequenceEvent::deadline_passed,
     [](std::vector<Row>& t, std::size_t k) {
       t[k].to = Step::settling;
       t[k].actions = {};
     },
     "from every state waiting alone opens the vent, and it stays commanded"},
    {"release_while_settling", Step::settling, SequenceEvent::deadline_passed,
     [](std::vector<Row>& t, std::size_t k) {
       t[k].to = Step::settling;
       t[k].actions = kRelease;
     },
     "from every state waiting alone opens the vent, and it stays commanded"},
    {"charge_by_itself", Step::review, SequenceEvent::found_pressurised,
     [](std::vector<Row>& t, std::size_t k) { t[k].to = Step::charging; }, "only a person starts a charge"},
};

class ABrokenRow : public testing::TestWithParam<Broken> {};

TEST_P(ABrokenRow, IsFound) {
  const Broken& broken = GetParam();
  std::vector<Row> table{sequence_table().begin(), sequence_table().end()};
  const auto row = std::ranges::find_if(table, [&](const Row& r) { return r.from == broken.from && r.on == broken.on; });
  ASSERT_NE(row, table.end());
  broken.spoil(table, static_cast<std::size_t>(row - table.begin()));
  const Exploration found = explore(table, invented_setup(), true);
  EXPECT_GT(found.violations.count(broken.property), 0U)
      << "found instead: " << (found.first_violation.empty() ? "nothing" : found.first_violation);
}

INSTANTIATE_TEST_SUITE_P(Sequence, ABrokenRow, testing::ValuesIn(kBroken),
                         [](const auto& broken) { return std::string{broken.param.what}; });

}  // namespace
}  // namespace coldstroke::daq
