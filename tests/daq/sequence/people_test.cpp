// SPDX-License-Identifier: GPL-3.0-or-later
//
// Signatures, bypasses, hand valves and the keep-out: what people are asked for and told.
#include <gmock/gmock.h>

#include "daq/sequence/hand_valves.hpp"
#include "daq/sequence/signatures.hpp"
#include "daq/setup/keep_out.hpp"

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;

auto invented_setup() {
  auto setup = parse_setup(virtual_setup_text(), "built-in");
  EXPECT_TRUE(setup) << setup.error().what;
  return *setup;
}

TEST(Checklist, IsSignedInTheChecksByTwoPeopleWhoConfirmedEveryItem) {
  const ChecklistSetup list = default_checklist();
  std::vector<Signature> given;
  EXPECT_FALSE(signature_trouble(Step::checks, list, given, "operator", "Ann Lee", list.items));
  given.push_back({"operator", "Ann Lee", "10:00:00"});
  EXPECT_FALSE(signature_trouble(Step::checks, list, given, "range officer", "Bo Ek", list.items));
  const auto refused = [&](Step step, const char* role, const char* name, std::vector<std::string> confirmed, const char* why) {
    const auto trouble = signature_trouble(step, list, given, role, name, confirmed);
    ASSERT_TRUE(trouble) << why;
    EXPECT_THAT(trouble->what, HasSubstr(why));
    EXPECT_FALSE(trouble->where.empty() || trouble->remedy.empty());
  };
  refused(Step::idle, "range officer", "Bo Ek", list.items, "in the checks");
  refused(Step::settling, "range officer", "Bo Ek", list.items, "in the checks");
  refused(Step::checks, "cook", "Bo Ek", list.items, "no such role");
  refused(Step::checks, "range officer", "  ", list.items, "needs a name");
  refused(Step::checks, "range officer", "Bo\nEk", list.items, "needs a name");
  refused(Step::checks, "operator", "Bo Ek", list.items, "signed already");
  refused(Step::checks, "range officer", "ann  LEE", list.items, "same person");
  refused(Step::checks, "range officer", kUnattendedName, list.items, "stands for nobody");
  refused(Step::checks, "range officer", "Bo Ek", {}, "not every item");
  auto other = list.items;
  other.back() = "all is well";
  refused(Step::checks, "range officer", "Bo Ek", other, "not every item");
}

TEST(Bypass, NeedsAReasonInWordsAndDoesNotExistForTheOnesThatGuardPeople) {
  EXPECT_FALSE(bypass_trouble("clock alignment", "aligned by the pulse today"));
  EXPECT_TRUE(bypass_trouble("clock alignment", ""));
  EXPECT_TRUE(bypass_trouble("clock alignment", " x x "));
  EXPECT_TRUE(bypass_trouble("clock alignment", "line one\nline two"));
  for (const char* never : {"emergency-stop loop", "firing channels", "pressure below maximum", "release key", "lid", "detector"})
    EXPECT_TRUE(bypass_trouble(never, "a very good reason")) << never;
}

TEST(HandValves, ADrivenRigHasNothingToPromptAndLacksNothing) {
  const auto setup = invented_setup();
  for (std::size_t step = 0; step < kSteps; ++step) EXPECT_TRUE(hand_steps(static_cast<Step>(step), {}, setup).empty());
  EXPECT_TRUE(lacking_protections(setup).empty());
}

TEST(HandValves, EachStepIsProvenByThePressureAndByNothingElse) {
  auto setup = invented_setup();
  setup.charge_valves = ChargeValves::hand;
  Readings r;
  r.pressure_age = 0.01;
  r.chamber_pascals = 0.0;
  const auto proven = [&](Step step) {
    std::vector<bool> out;
    for (const HandStep& line : hand_steps(step, r, setup)) out.push_back(line.proven);
    return out;
  };
  using Proven = std::vector<bool>;
  EXPECT_EQ(proven(Step::checks), (Proven{true, true}));
  EXPECT_EQ(proven(Step::charging), (Proven{false, false}));
  r.pressure_pascals = 1.0e5;
  EXPECT_EQ(proven(Step::charging), (Proven{true, false}));
  r.pressure_pascals = setup.charge.target_pascals;
  EXPECT_EQ(proven(Step::charging), (Proven{true, true}));
  EXPECT_EQ(proven(Step::settling), (Proven{false}));
  r.steady_seconds = setup.charge.settle_seconds;
  EXPECT_EQ(proven(Step::settling), (Proven{true}));
  r.pressure_slope = 2.0 * setup.charge.steady_pascals_per_second;
  EXPECT_EQ(proven(Step::aborting), (Proven{false, false}));
  r.pressure_pascals = 0.0;
  r.pressure_age = kNever;  // a stale reading proves nothing
  EXPECT_EQ(proven(Step::aborting), (Proven{false, false}));
}

TEST(HandValves, TheToolSaysPlainlyWhatSuchARigLacks) {
  auto setup = invented_setup();
  setup.charge_valves = ChargeValves::hand;
  const auto lacks = lacking_protections(setup);
  ASSERT_EQ(lacks.size(), 5U);
  EXPECT_THAT(lacks.front(), HasSubstr("does not vent"));
}

TEST(KeepOut, ShowsBothPublishedDistancesAndTheReachAndWarnsOfEach) {
  auto setup = invented_setup();
  KeepOut far = keep_out(setup);
  EXPECT_TRUE(far.warnings.empty()) << far.warnings.front();
  EXPECT_EQ(far.floor_metres, 30.0);
  EXPECT_GT(far.reach_metres, 30.0);
  EXPECT_DOUBLE_EQ(far.needed_metres, far.reach_metres + setup.keep_out.margin_metres);
  EXPECT_THAT(far.edition, HasSubstr("PCC-2-2008"));
  setup.keep_out.distance_metres = 35.0;
  EXPECT_EQ(keep_out(setup).warnings.size(), 1U);
  setup.keep_out.distance_metres = 20.0;
  EXPECT_EQ(keep_out(setup).warnings.size(), 2U);
  setup.keep_out.distance_metres = 5.0;
  const auto near = keep_out(setup).warnings;
  ASSERT_EQ(near.size(), 3U);
  EXPECT_THAT(near[0], HasSubstr("30.0 m, the published floor"));
  EXPECT_THAT(near[1], HasSubstr("scaled distance"));
  EXPECT_THAT(near[2], HasSubstr("reach"));
}

TEST(KeepOut, TheBottleDominates) {
  auto setup = invented_setup();
  const KeepOut with = keep_out(setup);
  ASSERT_TRUE(with.supply_joules);
  EXPECT_GT(*with.supply_joules, 50.0 * with.reservoir_joules);
  setup.keep_out.supply_pascals.reset();
  setup.keep_out.supply_volume_m3.reset();
  EXPECT_LT(keep_out(setup).scaled_metres, with.scaled_metres);
}

}  // namespace
}  // namespace coldstroke::daq
