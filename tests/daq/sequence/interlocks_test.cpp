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
  r.chamber_pascals = 0.0;
  r.dummy_load_amperes = 0.0;
  r.rig_firmware = setup.declared.rig_firmware;
  r.flight_firmware = setup.declared.flight_firmware;
  for (const ChannelSetup& channel : setup.channels)
    r.channels.push_back({0.01, false, false, 0.5 * (channel.rest_low.value_or(0.0) + channel.rest_high.value_or(0.0)), 0.0});
  r.surroundings = {"2026-07-01", 1'000'000'000, true};
  r.archive_needed_bytes = 100'000'000;
  r.typed_target_pascals = setup.charge.target_pascals;
  r.signatures = {{"operator", "Ann Lee", "10:00:00"}, {"range officer", "Bo Ek", "10:00:30"}};
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
    {"playback", [](Readings& r, const Setup&) { r.playback = true; }},
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
    {"archive", [](Readings& r, const Setup&) { r.archive_writable = false; }},
    {"archive room", [](Readings& r, const Setup&) { r.surroundings.archive_room_bytes = 99'999'999; }},
    {"archive room", [](Readings& r, const Setup&) { r.surroundings.archive_room_bytes.reset(); }},
    {"lid", [](Readings& r, const Setup&) { r.rig_inputs &= static_cast<std::uint16_t>(~wire::kLidOpenSwitch); }},
    {"lid", [](Readings& r, const Setup&) { r.rig_inputs |= wire::kLidShutSwitch; }},
    {"firing channels", [](Readings& r, const Setup&) { r.dummy_load_amperes = 0.2; }},
    {"firing channels", [](Readings& r, const Setup&) { r.flight_age = 0.51; }},
    {"boards kept running", [](Readings& r, const Setup&) { r.rig_restarted = true; }},
    {"boards kept running", [](Readings& r, const Setup&) { r.flight_restarted = true; }},
    {"pressure below maximum", [](Readings& r, const Setup&) { r.pressure_frozen = true; }},
    {"channels alive", [](Readings& r, const Setup&) { r.channels[0].frozen = true; }},
    {"channels alive", [](Readings& r, const Setup&) { r.channels[4].saturated = true; }},
    {"channels alive", [](Readings& r, const Setup& s) { r.channels[6].age = s.link_fresh_seconds * 1.01; }},
    {"channels alive", [](Readings& r, const Setup&) { r.channels.pop_back(); }},
    {"calibration", [](Readings& r, const Setup&) { r.surroundings.today = "2100-01-01"; }},
    {"calibration", [](Readings& r, const Setup&) { r.surroundings.today.clear(); }},
    {"declared boards", [](Readings& r, const Setup&) { r.rig_firmware = "rig-reference 0.0.9"; }},
    {"declared boards", [](Readings& r, const Setup&) { r.flight_firmware.clear(); }},
    {"setup unchanged", [](Readings& r, const Setup&) { r.surroundings.setup_file_same = false; }},
    {"checklist", [](Readings& r, const Setup&) { r.signatures.pop_back(); }},
    {"checklist", [](Readings& r, const Setup&) { r.signatures.front().role = "range officer"; }},
    {"target pressure", [](Readings& r, const Setup&) { r.typed_target_pascals.reset(); }},
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
  const auto readings = [&](std::uint32_t milliohms) {
    Readings r = ready(setup);
    r.milliohms.assign(setup.firing_channels.size(), milliohms);
    return r;
  };
  const auto live = [&](std::uint32_t milliohms) { return live_channel(readings(milliohms), setup); };
  EXPECT_FALSE(live(2000));
  EXPECT_FALSE(live(1800));
  EXPECT_FALSE(live(2200));
  EXPECT_TRUE(live(1790));
  EXPECT_TRUE(live(2210));
  // a load that came off blocks; armed without it, it locks out
  Readings off = readings(wire::kOpenCircuit);
  EXPECT_FALSE(live_channel(off, setup));
  EXPECT_FALSE(interlocks_to_enter(Step::charging, off, setup).find("firing channels")->holds);
  off.armed_switch = true;
  EXPECT_TRUE(live_channel(off, setup));
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

/// Vented, seated and still: ready to charge.
Readings vented(const Setup& setup) {
  Readings r = ready(setup);
  r.rig_outputs = r.rig_readback = wire::kVentValve;
  r.pressure_pascals = 0.0;
  return r;
}

TEST(Interlocks, BeforeAChargeEveryChannelIsJudgedAtRest) {
  const auto setup = invented_setup();
  EXPECT_TRUE(interlocks_to_enter(Step::charging, vented(setup), setup).all_hold());
  for (std::size_t c = 0; c < setup.channels.size(); ++c) {
    Readings r = vented(setup);
    r.channels[c].mean = *setup.channels[c].rest_high * 1.01;
    const InterlockList list = interlocks_to_enter(Step::charging, r, setup);
    ASSERT_NE(list.first_open(), nullptr) << setup.channels[c].name;
    EXPECT_EQ(list.first_open()->name, "channels at rest");
    EXPECT_NE(list.first_open()->reading.find(setup.channels[c].name), std::string::npos);
    r = vented(setup);
    r.channels[c].noise = *setup.channels[c].noise_max * 1.01;
    EXPECT_FALSE(interlocks_to_enter(Step::charging, r, setup).all_hold()) << setup.channels[c].name;
  }
}

TEST(Interlocks, ATopUpIsNotJudgedAtRest) {
  const auto setup = invented_setup();
  Readings r = ready(setup);
  r.pressure_pascals = setup.charge.low_pascals - 1.0e4;
  r.channels[1].mean = r.pressure_pascals;
  EXPECT_TRUE(interlocks_to_enter(Step::charging, r, setup).all_hold());
}

TEST(Interlocks, DetectorSettingsMustBeTheDeclaredOnes) {
  auto setup = invented_setup();
  setup.declared.detector_settings = {{"threshold_g", "10.0"}};
  Readings r = ready(setup);
  EXPECT_FALSE(interlocks_to_enter(Step::releasing, r, setup).all_hold());
  r.detector_settings = {{"window_ms", "20"}, {"threshold_g", "10.0"}};
  EXPECT_TRUE(interlocks_to_enter(Step::releasing, r, setup).all_hold());
  r.detector_settings[1].second = "12.0";
  EXPECT_FALSE(interlocks_to_enter(Step::releasing, r, setup).all_hold());
}

TEST(Interlocks, ACalibrationHoldsThroughItsLastDayAndNeedsOne) {
  auto setup = invented_setup();
  Readings r = ready(setup);
  r.surroundings.today = "2026-07-31";
  setup.channels[2].calibration.valid_until = "2026-07-31";
  EXPECT_TRUE(interlocks_to_enter(Step::releasing, r, setup).all_hold());
  r.surroundings.today = "2026-08-01";
  EXPECT_FALSE(interlocks_to_enter(Step::releasing, r, setup).all_hold());
  setup.channels[2].calibration.valid_until.clear();
  EXPECT_FALSE(interlocks_to_enter(Step::releasing, r, setup).all_hold());
}

TEST(Interlocks, ABoardThatRecordsByItselfStillHasItsFiringChannelsRead) {
  auto setup = invented_setup();
  setup.flight_records_by_itself = true;
  Readings r = ready(setup);
  r.flight_compatible = false;
  r.alignment_uncertainty_seconds.reset();
  for (std::size_t c = 4; c < r.channels.size(); ++c) r.channels[c] = ChannelHealth{};
  EXPECT_TRUE(interlocks_to_enter(Step::releasing, r, setup).all_hold());
  r.flight_age = kNever;
  EXPECT_FALSE(interlocks_to_enter(Step::releasing, r, setup).all_hold());
}

TEST(Interlocks, OnlyABypassableOneCanBeBypassedAndTheReasonStaysInTheList) {
  const auto setup = invented_setup();
  for (const Spoilt& spoilt : kSpoilt) {
    Readings r = ready(setup);
    spoilt.spoil(r, setup);
    for (const Interlock& line : interlocks_to_enter(Step::releasing, ready(setup), setup).lines)
      if (line.name == spoilt.interlock) r.bypasses.push_back({line.name, "because of a test"});
    const InterlockList list = interlocks_to_enter(Step::releasing, r, setup);
    const Interlock* line = list.find(spoilt.interlock);
    ASSERT_NE(line, nullptr);
    EXPECT_FALSE(line->holds);
    EXPECT_EQ(line->lets_pass(), bypass_exists(spoilt.interlock)) << spoilt.interlock;
    EXPECT_EQ(line->bypass_reason.empty(), !bypass_exists(spoilt.interlock)) << spoilt.interlock;
  }
  for (const char* never : {"emergency-stop loop", "release key", "lid", "firing channels", "detector", "playback",
                            "pressure below maximum", "checklist", "target pressure", "rig link", "rig board faults",
                            "valve read-back", "pressure proven low", "keep-clear wait", "boards kept running"})
    EXPECT_FALSE(bypass_exists(never)) << never;
}

TEST(Interlocks, AJammedTubeUnderPressureIsNotProvenLow) {
  const auto setup = invented_setup();
  Readings r = vented(setup);
  EXPECT_TRUE(proven_low(r, setup));
  r.chamber_pascals = 1.0e5;
  EXPECT_FALSE(proven_low(r, setup));
  r.chamber_pascals.reset();
  EXPECT_FALSE(proven_low(r, setup));
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
