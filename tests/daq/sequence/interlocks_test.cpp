// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/sequence/interlocks.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "protocol/wire/message.hpp"

namespace coldstroke::daq {
namespace {

Setup invented_setup() {
  auto setup = parse_setup(virtual_setup_text(), "built-in");
  EXPECT_TRUE(setup) << setup.error().what << setup.error().where;
  return *setup;
}

/// All in order, reservoir in the window and steady, valves shut: ready to count.
Readings ready(const Setup& setup) {
  Readings r;
  r.rig_age = r.flight_age = r.pressure_age = 0.01;
  r.rig_compatible = r.flight_compatible = true;
  r.rig_inputs = wire::kStopLoopClosed | wire::kReleaseKeyIn | wire::kLidOpenSwitch;
  r.pressure_pascals = setup.charge.target_pascals;
  r.steady_seconds = setup.charge.settle_seconds + 1.0;
  r.milliohms.assign(setup.firing_channels.size(), wire::kOpenCircuit);
  r.detector_idle = true;
  r.archive_writable = true;
  r.alignment_uncertainty_seconds = 1.0e-4;
  return r;
}

struct Spoilt {
  const char* interlock;
  void (*spoil)(Readings&, const Setup&);
};

const Spoilt kSpoilt[] = {
    {"rig link", [](Readings& r, const Setup& s) { r.rig_age = s.link_fresh_seconds * 1.01; }},
    {"rig link", [](Readings& r, const Setup&) { r.rig_compatible = false; }},
    {"flight link", [](Readings& r, const Setup& s) { r.flight_age = s.link_fresh_seconds * 1.01; }},
    {"flight link", [](Readings& r, const Setup&) { r.flight_age = kNever; }},
    {"emergency-stop loop",
     [](Readings& r, const Setup&) { r.rig_inputs &= static_cast<std::uint16_t>(~wire::kStopLoopClosed); }},
    {"release key", [](Readings& r, const Setup&) { r.rig_inputs &= static_cast<std::uint16_t>(~wire::kReleaseKeyIn); }},
    {"firing channels", [](Readings& r, const Setup&) { r.milliohms.front() = 1600; }},
    {"firing channels", [](Readings& r, const Setup&) { r.armed_switch = true; }},
    {"firing channels", [](Readings& r, const Setup&) { r.milliohms.clear(); }},
    {"detector", [](Readings& r, const Setup&) { r.detector_idle = false; }},
    {"rig board faults", [](Readings& r, const Setup&) { r.rig_faults = wire::kFaultReadback; }},
    {"valve read-back", [](Readings& r, const Setup&) { r.rig_readback = wire::kFastValve1; }},
    {"pressure below maximum", [](Readings& r, const Setup& s) { r.pressure_pascals = s.charge.maximum_pascals; }},
    {"pressure below maximum", [](Readings& r, const Setup& s) { r.pressure_age = s.link_fresh_seconds * 2.0; }},
    {"pressure below maximum", [](Readings& r, const Setup&) { r.pressure_saturated = true; }},
    {"charge window", [](Readings& r, const Setup& s) { r.pressure_pascals = s.charge.low_pascals - 1.0; }},
    {"charge window", [](Readings& r, const Setup& s) { r.pressure_pascals = s.charge.high_pascals + 1.0; }},
    {"pressure steady", [](Readings& r, const Setup& s) { r.steady_seconds = s.charge.settle_seconds * 0.99; }},
    {"clock alignment", [](Readings& r, const Setup&) { r.alignment_uncertainty_seconds.reset(); }},
    {"clock alignment", [](Readings& r, const Setup& s) { r.alignment_uncertainty_seconds = s.alignment_limit_seconds * 1.01; }},
    {"archive",
     [](Readings& r, const Setup&) {
       r.archive_writable = false;
       r.archive_trouble = "no space left";
     }},
};

TEST(Interlocks, AllHoldWhenAllIsInOrder) {
  const auto setup = invented_setup();
  const InterlockList list = interlocks_to_enter(Step::releasing, ready(setup), setup);
  for (const Interlock& line : list.lines) EXPECT_TRUE(line.holds) << line.name << " reads " << line.reading;
}

TEST(Interlocks, EachBlocksTheReleaseByItselfAndSaysWhatToDo) {
  const auto setup = invented_setup();
  for (const Spoilt& spoilt : kSpoilt) {
    Readings r = ready(setup);
    spoilt.spoil(r, setup);
    const InterlockList list = interlocks_to_enter(Step::releasing, r, setup);
    const auto line = std::ranges::find(list.lines, spoilt.interlock, &Interlock::name);
    ASSERT_NE(line, list.lines.end()) << spoilt.interlock;
    EXPECT_FALSE(line->holds) << spoilt.interlock;
    EXPECT_FALSE(line->reading.empty() || line->limit.empty() || line->remedy.empty()) << spoilt.interlock;
    EXPECT_FALSE(list.all_hold());
  }
}

TEST(Interlocks, NothingKnownMeansNothingHolds) {
  const auto setup = invented_setup();
  for (const Step to : {Step::checks, Step::charging, Step::counting, Step::releasing, Step::idle, Step::review})
    EXPECT_FALSE(interlocks_to_enter(to, Readings{}, setup).all_hold()) << word(to);
  for (const Step in : {Step::charging, Step::settling, Step::counting, Step::releasing})
    EXPECT_FALSE(interlocks_while(in, Readings{}, setup).all_hold()) << word(in);
}

TEST(Interlocks, ThoseNamedByTheSafetyPageAreWatchedInEveryStepUnderPressure) {
  const auto setup = invented_setup();
  for (const Step step : {Step::charging, Step::settling, Step::counting, Step::releasing}) {
    const InterlockList list = interlocks_while(step, ready(setup), setup);
    for (const char* name : {"rig link", "flight link", "emergency-stop loop", "firing channels", "pressure below maximum"})
      EXPECT_NE(std::ranges::find(list.lines, name, &Interlock::name), list.lines.end()) << word(step) << ": " << name;
  }
}

TEST(Interlocks, ADummyLoadMustReadItsRegisteredResistanceWithinTenPercent) {
  auto setup = invented_setup();
  for (FiringChannel& channel : setup.firing_channels) channel = {true, 2.0};
  const auto live = [&](std::uint32_t milliohms) {
    Readings r = ready(setup);
    r.milliohms.assign(setup.firing_channels.size(), milliohms);
    return live_channel(r, setup);
  };
  EXPECT_FALSE(live(2000));
  EXPECT_FALSE(live(1800));
  EXPECT_FALSE(live(2200));
  EXPECT_TRUE(live(1790));
  EXPECT_TRUE(live(2210));
  EXPECT_TRUE(live(wire::kOpenCircuit));
}

TEST(Interlocks, TheArmSwitchMayBeOnOnlyWithEveryChannelOnItsDummyLoad) {
  auto setup = invented_setup();
  ASSERT_GE(setup.firing_channels.size(), 2U);
  Readings r = ready(setup);
  r.armed_switch = true;
  EXPECT_TRUE(live_channel(r, setup));
  for (FiringChannel& channel : setup.firing_channels) channel = {true, 2.0};
  r.milliohms.assign(setup.firing_channels.size(), 2000);
  EXPECT_FALSE(live_channel(r, setup));
  setup.firing_channels.back() = {false, 0.0};
  r.milliohms.back() = wire::kOpenCircuit;
  EXPECT_TRUE(live_channel(r, setup));
}

TEST(Interlocks, AStaleFiringReadingIsAnOpenInterlockButNotALiveChannel) {
  const auto setup = invented_setup();
  Readings r = ready(setup);
  r.milliohms.front() = 1600;
  r.flight_age = 0.6;
  EXPECT_FALSE(live_channel(r, setup));
  EXPECT_FALSE(interlocks_to_enter(Step::charging, r, setup).all_hold());
}

TEST(Interlocks, KeepClearRunsDownAndNeedsAProvenLowPressure) {
  const auto setup = invented_setup();
  Readings r = ready(setup);
  r.pressure_pascals = 0.0;
  r.keep_clear_remaining_seconds = 0.5;
  EXPECT_FALSE(interlocks_to_enter(Step::review, r, setup).all_hold());
  r.keep_clear_remaining_seconds = 0.0;
  EXPECT_TRUE(interlocks_to_enter(Step::review, r, setup).all_hold());
  r.pressure_pascals = setup.sequence.vented_below_pascals * 1.01;
  EXPECT_FALSE(interlocks_to_enter(Step::review, r, setup).all_hold());
}

}  // namespace
}  // namespace coldstroke::daq
