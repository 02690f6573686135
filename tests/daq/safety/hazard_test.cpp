// SPDX-License-Identifier: GPL-3.0-or-later
//
// The hazard table of docs/safety.md, a test a row, on the virtual rig with the fault injected. Each asserts what the page
// promises: how the program sees it and what happens by itself. Row numbers are those of the page.
#include <gmock/gmock.h>

#include <algorithm>

#include "tests/daq/safety/rig_room.hpp"

namespace coldstroke::daq {
namespace {

using testing::AllOf;
using testing::AnyOf;
using testing::EndsWith;
using testing::HasSubstr;
using testing::Not;

constexpr double kTrialSeconds = 60.0, kHoldSeconds = 150.0;

/// The charge is refused because of this interlock, and stays refused.
void expect_no_charge(Room& room, const std::string& interlock, const std::string& reading) {
  EXPECT_TRUE(room.until_step(Step::checks, 10.0)) << room.said();
  room.run(5.0);
  EXPECT_EQ(room.bench().step(), Step::checks) << room.path();
  room.ask(OperatorRequest::charge);
  EXPECT_EQ(room.bench().step(), Step::checks) << "a charge was taken: " << room.path();
  const InterlockLine* line = room.interlock(interlock);
  ASSERT_NE(line, nullptr) << interlock;
  EXPECT_FALSE(line->holds) << line->reading;
  EXPECT_THAT(line->reading, HasSubstr(reading));
  EXPECT_FALSE(line->remedy.empty());
  EXPECT_TRUE(room.vent_open());
}

/// The trial ended as aborted, the rig is vented and proven low, and the log says why.
void expect_aborted(Room& room, const std::string& why) {
  EXPECT_TRUE(room.until_trial_ended(kHoldSeconds)) << room.path() << "\n" << room.said();
  ASSERT_EQ(room.ended().size(), 1U);
  EXPECT_EQ(room.ended().front().verdict, "aborted");
  EXPECT_THAT(room.said(), HasSubstr(why));
  EXPECT_TRUE(room.vent_open());
  EXPECT_LT(room.bar(), 0.2);
}

TEST(Hazard, Row01_FastValveStuckOpenAbortsAndShutsTheFill) {
  Room room{{.faults = {"fast_valve_stuck_open,step=holding,after_seconds=0.2"}}};
  expect_aborted(room, "a valve did not follow");
  EXPECT_THAT(room.path(), Not(HasSubstr("releasing")));
}

TEST(Hazard, Row01_FastValveOpenBeforeTheChargeIsRefused) {
  Room room{{.faults = {"fast_valve_stuck_open"}}};
  expect_no_charge(room, "valve read-back", "fast 1");
}

TEST(Hazard, Row02_HangVentsAndKeepsClearForTheSetWaitWithNoRetry) {
  Room room{{.faults = {"hang"}}};
  ASSERT_TRUE(room.until_step(Step::keep_clear, kTrialSeconds)) << room.path();
  room.run(2.0);
  EXPECT_TRUE(room.rig_vented());
  EXPECT_EQ(room.view().headline, Headline::keep_clear);
  EXPECT_THAT(room.view().alarm, HasSubstr("no motion"));
  const double wait = room.bench().setup().sequence.keep_clear_seconds;
  room.run(wait - 4.0);
  EXPECT_EQ(room.bench().step(), Step::keep_clear) << "people acknowledge as soon as they may";
  for (const OperatorRequest request :
       {OperatorRequest::begin, OperatorRequest::charge, OperatorRequest::count, OperatorRequest::acknowledge}) {
    room.ask(request);
    EXPECT_EQ(room.bench().step(), Step::keep_clear);
  }
  expect_aborted(room, "hang");
  EXPECT_THAT(room.path(), EndsWith("releasing, keep clear, review, idle"));
}

TEST(Hazard, Row03_OneOfTwoValvesDeadFailsTheTrial) {
  Room room{{.faults = {"stuck_fast_valve"}}};
  ASSERT_TRUE(room.until_trial_ended(kHoldSeconds)) << room.path();
  EXPECT_EQ(room.ended().front().verdict, "fail") << room.ended().front().sentence;
}

TEST(Hazard, Row04_VehicleThatStopsInTheTubeIsHeldAsAHang) {
  Room room{{.scenario = "name = \"sticky\"\n[tube]\nrunning_friction_newtons = 750.0\nbreakaway_newtons = 760.0\n",
             .people = {.acknowledge = false}}};
  ASSERT_TRUE(room.until_step(Step::review, kTrialSeconds)) << room.path();
  ASSERT_TRUE(room.until([&] { return !room.ended().empty(); }, 30.0)) << room.said();
  EXPECT_NE(room.ended().front().verdict, "pass");
  EXPECT_EQ(room.view().headline, Headline::keep_clear);
  EXPECT_THAT(room.view().alarm, HasSubstr("may still be in the tube"));
  room.ask(OperatorRequest::acknowledge);
  EXPECT_EQ(room.bench().step(), Step::review) << "nobody approaches before the wait has run down";
  room.run(room.bench().setup().sequence.keep_clear_seconds);
  room.ask(OperatorRequest::acknowledge);
  EXPECT_EQ(room.bench().step(), Step::idle);
}

TEST(Hazard, Row05_CreepingRegulatorVentsAndLatches) {
  Room room{{.faults = {"regulator_creep,litres_per_minute=60,step=holding,lasting_seconds=30"}, .people = {.release = false}}};
  ASSERT_TRUE(room.until_step(Step::keep_clear, kTrialSeconds)) << "the vent cannot keep up with it: " << room.path();
  expect_aborted(room, "pressure below maximum");
}

TEST(Hazard, Row06_PressureThatDoesNotComeDownIsKeptClearUntilProvenLow) {
  Room room{{.faults = {"blocked_vent,step=holding,lasting_seconds=100"}, .people = {.release = false}}};
  ASSERT_TRUE(room.until_step(Step::settling, kTrialSeconds));
  room.run(1.0);
  room.ask(OperatorRequest::abort);
  ASSERT_TRUE(room.until_step(Step::keep_clear, 2.0)) << "a blocked vent is found within the allowance, not by a bare timer";
  EXPECT_THAT(room.said(), HasSubstr("vent slow"));
  room.ask(OperatorRequest::abort);  // vent again: once more, and it stays commanded
  room.run(70.0);
  EXPECT_EQ(room.bench().step(), Step::keep_clear) << "the wait is over, the pressure is not";
  EXPECT_EQ(room.view().headline, Headline::keep_clear);
  EXPECT_GT(room.bar(), 5.0);
  expect_aborted(room, "KEEP CLEAR");
}

TEST(Hazard, Row06_AVentTenTimesTooNarrowIsFoundByItsCurve) {
  Room room{{.faults = {"slow_vent,factor=0.1"}, .people = {.release = false}}};
  ASSERT_TRUE(room.until_step(Step::settling, kTrialSeconds));
  room.ask(OperatorRequest::abort);
  ASSERT_TRUE(room.until_step(Step::keep_clear, 3.0)) << room.said();
  expect_aborted(room, "vent slow");
}

TEST(Hazard, Row07_PressureThatComesBackIsVentedAgain) {
  Room room{{.scenario = "name = \"left lying\"\n[vehicle]\nrecover_seconds = 60.0\n",
             .faults = {"blocked_vent,step=released,after_seconds=9,lasting_seconds=20",
                        "regulator_creep,litres_per_minute=20,step=released,after_seconds=9,lasting_seconds=3"},
             .people = {.acknowledge = false}}};
  ASSERT_TRUE(room.until_step(Step::review, kTrialSeconds)) << room.path();
  ASSERT_TRUE(room.until_step(Step::venting, 20.0)) << room.said();
  EXPECT_THAT(room.said(), HasSubstr("pressure came back"));
  EXPECT_NE(room.view().headline, Headline::safe);
}

TEST(Hazard, Row08_LinkLostUnderPressureVentsOnBothSides) {
  Room room{{.faults = {"rig_link_drop,step=holding,after_seconds=0.3,lasting_seconds=3"}, .people = {.release = false}}};
  ASSERT_TRUE(room.until_step(Step::aborting, kTrialSeconds)) << room.path();
  EXPECT_EQ(room.view().headline, Headline::unknown) << "no number is shown as if it were new";
  EXPECT_THAT(room.said(), HasSubstr("rig link reads"));
  room.run(1.0);
  EXPECT_EQ(room.bench().step(), Step::aborting)
      << "a reading from before the vent opened says nothing of the vent: " << room.path();
  room.run(4.0);
  EXPECT_TRUE(room.rig_vented());
  expect_aborted(room, "host heartbeat was lost");
}

TEST(Hazard, Row09_AProgramThatDiesLeavesAVentedRigAndTheNextOneNeverGoesOn) {
  Room room{{.people = {.release = false}}};
  ASSERT_TRUE(room.until_step(Step::settling, kTrialSeconds));
  room.run(0.5);
  room.host_dies();
  room.run(0.5);
  EXPECT_TRUE(room.rig_vented()) << "by its own watchdog";
  room.host_starts();
  room.people.act = false;
  room.run(3.0);
  EXPECT_THAT(room.path(), Not(AnyOf(EndsWith("charging"), EndsWith("settling"), EndsWith("releasing"))));
  const auto archive = Campaign::open_read_only(room.campaign_file());
  ASSERT_TRUE(archive);
  EXPECT_EQ(archive->trial(1)->status, TrialStatus::interrupted);
  EXPECT_TRUE(archive->verify()->findings.empty());
}

TEST(Hazard, Row09_AProgramThatStartsOnAPressurisedRigGoesStraightToVenting) {
  Room room{{.faults = {"blocked_vent,step=holding,lasting_seconds=4"}, .people = {.release = false}}};
  ASSERT_TRUE(room.until_step(Step::settling, kTrialSeconds));
  room.run(0.5);
  room.host_dies();
  room.run(1.0);  // the board opened its vent, which is blocked for now
  room.host_starts();
  ASSERT_TRUE(room.until_step(Step::venting, 2.0)) << room.path();
  EXPECT_THAT(room.path(), EndsWith("idle, venting"));
  EXPECT_THAT(room.said(), HasSubstr("already holds pressure"));
}

TEST(Hazard, Row09_AProgramThatStoodStillDoesNothingThatWasAskedBefore) {
  for (const double lead_seconds : {0.0, 0.002, 0.004, 0.006, 0.010}) {  // the stop falls before and after token and grant
    Room room{{.people = {.act = false}}};
    room.until([&] { return room.view().next.enabled; }, 10.0);
    room.ask(OperatorRequest::begin);
    ASSERT_TRUE(
        room.until([&] { return room.view().next.enabled && room.view().next.request == OperatorRequest::charge; }, 10.0));
    if (lead_seconds > 0.0) {
      room.ask(OperatorRequest::charge);
      room.run(lead_seconds);
    }
    room.host_stands_still(1.0);
    if (lead_seconds == 0.0) room.ask(OperatorRequest::charge);  // typed before, read now
    room.run(0.2);
    EXPECT_TRUE(room.rig_vented()) << lead_seconds << ": " << room.path() << "\n" << room.said();
    EXPECT_NE(room.bench().step(), Step::charging) << lead_seconds;
  }
}

TEST(Hazard, Row10_ARigBoardThatStartsAnewAbortsTheTrial) {
  Room room{{.faults = {"brown_out_reset,node=rig,step=holding,after_seconds=0.3"}, .people = {.release = false}}};
  expect_aborted(room, "the rig board was reset");
}

TEST(Hazard, Row11_ContinuityOnAFiringChannelRefusesEverything) {
  Room room{{.faults = {"continuity_present"}}};
  room.run(5.0);
  EXPECT_EQ(room.bench().step(), Step::locked_out);
  EXPECT_THAT(room.said(), HasSubstr("channel 2 reads 1.60 ohm"));
  EXPECT_TRUE(room.rig_vented());
}

TEST(Hazard, Row11_ContinuityUnderPressureVentsAndLocksOut) {
  Room room{{.faults = {"continuity_present,step=holding,after_seconds=0.3"}, .people = {.release = false}}};
  ASSERT_TRUE(room.until_step(Step::locked_out, kTrialSeconds)) << room.path();
  room.run(100.0);
  EXPECT_EQ(room.bench().step(), Step::locked_out) << "waiting alone does not lead out while the channel is live";
  EXPECT_TRUE(room.rig_vented());
  EXPECT_LT(room.bar(), 0.2);
}

TEST(Hazard, Row11_AnArmedBoardUnderPressureVentsAndLocksOut) {
  Room room{{.faults = {"armed_board,step=charging,after_seconds=0.2"}}};
  ASSERT_TRUE(room.until_step(Step::locked_out, kTrialSeconds)) << room.path();
  EXPECT_THAT(room.said(), HasSubstr("ARMED"));
}

/// The setup of the virtual rig with both firing channels registered on their dummy loads.
std::string setup_with_dummy_loads() {
  std::string text{virtual_setup_text()};
  for (std::size_t at = text.find("ends_in = \"open\""); at != std::string::npos; at = text.find("ends_in = \"open\""))
    text.replace(at, 16, "ends_in = \"dummy_load\"\nohms = 2.0");
  return text;
}

TEST(Hazard, Row12_CurrentThroughTheDummyLoadWithoutADecisionLocksOut) {
  Room room{{.faults = {"unplugged_sensor,channel=dummy_current,fraction_of_range=0.5,step=holding,after_seconds=0.3"},
             .people = {.release = false}}};
  ASSERT_TRUE(room.until_step(Step::locked_out, kTrialSeconds)) << room.path();
  EXPECT_THAT(room.said(), HasSubstr("A flow without a decision"));
  room.run(1.0);
  EXPECT_TRUE(room.rig_vented());
}

TEST(Hazard, Row12_AWrongDummyLoadLocksOutAndAMissingOneIsRefused) {
  Room missing{{.setup_text = setup_with_dummy_loads()}};
  expect_no_charge(missing, "firing channels", "2 of 2 open");
  Room room{{.scenario = "load_box", .faults = {"wrong_dummy_load"}, .setup_text = setup_with_dummy_loads()}};
  ASSERT_TRUE(room.until_step(Step::locked_out, 10.0)) << room.path();
  EXPECT_THAT(room.said(), HasSubstr("channel 1 reads 4.70 ohm"));
}

TEST(Hazard, Row13_ADetectorThatHasDecidedAlreadyIsRefused) {
  Room room{{.scenario = "name = \"nervous\"\n[detector]\nkind = \"sustained\"\nthreshold_g = 0.01\nwindow_seconds = 0.001\n"}};
  expect_no_charge(room, "detector", "not idle");
}

TEST(Hazard, Row14_ADecisionBeforeTheReleaseAborts) {
  Room room{{.faults = {"detector_early,threshold_g=0.01,step=holding,after_seconds=0.3"}, .people = {.release = false}}};
  expect_aborted(room, "detector reads not idle");
}

TEST(Hazard, Row15_ALateDecisionFails) {
  Room room{{.scenario = "hard_landing"}};
  ASSERT_TRUE(room.until_trial_ended(kHoldSeconds)) << room.path();
  EXPECT_EQ(room.ended().front().verdict, "fail");
  EXPECT_THAT(room.ended().front().sentence, HasSubstr("late"));
}

TEST(Hazard, Row16_NoDecisionFailsAndIsNotALostLink) {
  Room room{{.faults = {"detector_never"}}};
  ASSERT_TRUE(room.until_trial_ended(kHoldSeconds)) << room.path();
  EXPECT_EQ(room.ended().front().verdict, "fail");
  EXPECT_THAT(room.ended().front().sentence, HasSubstr("missed"));
}

TEST(Hazard, Row17_AClockThatJumpsInTheTrialIsSaidAndTheLatencyIsStillRight) {
  Room room{{.faults = {"clock_jump,jump_seconds=5,step=released"}}};
  ASSERT_TRUE(room.until_trial_ended(kHoldSeconds)) << room.path();
  const auto archive = Campaign::open_read_only(room.campaign_file());
  const auto judged = judge_trial(*archive, 1);
  ASSERT_TRUE(judged);
  EXPECT_THAT(judged->notes, testing::Contains(HasSubstr("the clock of the flight board jumped by")));
  const auto* latency = judged->result.metric("detector_latency_seconds")->measured();
  ASSERT_NE(latency, nullptr);
  EXPECT_NEAR(latency->value, 6.1e-3, 1.0e-3) << "of the rig without a jump: docs/virtual-rig.md, scenario steady";
}

TEST(Hazard, Row18_ASaturatedSensorInTheStrokeIsNeverAPass) {
  Room room{{.faults = {"saturated_force"}}};
  ASSERT_TRUE(room.until_trial_ended(kHoldSeconds)) << room.path();
  EXPECT_EQ(room.ended().front().verdict, "void");
}

TEST(Hazard, Row19_AnUnpluggedSensorReadingAPlausibleConstantIsRefused) {
  for (const char* channel : {"force", "supply_pressure", "chamber_pressure", "acceleration"}) {
    Room room{{.faults = {std::string{"unplugged_sensor,fraction_of_range=0.0,channel="} + channel}}};
    expect_no_charge(room, "channels alive", "frozen");
  }
}

TEST(Hazard, Row20_ACalibrationOutOfDateOrAZeroThatIsOffIsRefused) {
  Room late{{.surroundings = {"2100-01-01", 1'000'000'000'000, true}}};
  expect_no_charge(late, "calibration", "valid until 2099-12-31");
  Room off{{.scenario = "name = \"drifted\"\n[supply_pressure]\nzero_standard_uncertainty_pascals = 8000.0\n"}};
  expect_no_charge(off, "channels at rest", "supply reads");
}

TEST(Hazard, Row21_AWrongTareIsRefused) {
  Room room{{.scenario = "name = \"wrong tare\"\n[force]\nzero_standard_uncertainty_newtons = 40.0\n"}};
  expect_no_charge(room, "channels at rest", "force reads");
}

TEST(Hazard, Row22_AShutLidOrAMissingSignatureIsRefused) {
  Room lid{{.scenario = "name = \"stiff lid\"\n[valves]\nlid_travel_seconds = 60.0\n"}};
  expect_no_charge(lid, "lid", "between");
  Room unsigned_{{.people = {.sign = false}}};
  expect_no_charge(unsigned_, "checklist", "range officer: not signed");
  Room aimless{{.people = {.aim = false}}};
  expect_no_charge(aimless, "target pressure", "not typed");
}

TEST(Hazard, Row22_AKeyTakenOutUnderPressureAborts) {
  Room room{{.faults = {"key_removed,step=holding,after_seconds=0.3"}, .people = {.release = false}}};
  expect_aborted(room, "release key reads out");
}

TEST(Hazard, Row23_StaleDataIsShownAsUnknownAndBlocks) {
  Room room{{.faults = {"board_silent,node=rig,after_seconds=3"}, .people = {.act = false}}};
  room.run(2.0);
  EXPECT_EQ(room.view().headline, Headline::safe);
  room.run(3.0);
  const BenchView view = room.view();
  EXPECT_EQ(view.headline, Headline::unknown);
  EXPECT_GT(view.pressure_age_seconds, 1.0);
  EXPECT_FALSE(view.next.enabled);
  EXPECT_THAT(view.next.why_not, HasSubstr("rig link"));
}

TEST(Hazard, Row24_CommandsLostOnTheLineEndInAVentedRig) {
  Room room{{.faults = {"bit_flips,node=rig,direction=to_board,probability=0.004,step=charging"}, .people = {.release = false}}};
  ASSERT_TRUE(room.until_step(Step::charging, kTrialSeconds));
  room.until([&] { return room.bench().step() == Step::settling || room.bench().step() == Step::aborting; }, 20.0);
  room.ask(OperatorRequest::abort);
  EXPECT_TRUE(room.until([&] { return room.rig_vented(); }, 1.0)) << "the vent command is said until it is read back";
}

TEST(Hazard, Row25_AnotherBoardThanTheDeclaredOneIsRefused) {
  for (const char* node : {"rig", "flight"}) {
    Room room{{.faults = {std::string{"wrong_firmware_identity,node="} + node}}};
    expect_no_charge(room, "declared boards", "0.0.9-other");
  }
}

TEST(Hazard, Row25_ARigThatIsNotOursIsNeverSignedForByNobody) {
  Room room{{.people = {.sign = false}}};
  ASSERT_TRUE(room.until_step(Step::checks, 10.0));
  room.ask(OperatorRequest::sign_virtual_rig);
  for (const auto& role : room.view().checklist.roles) EXPECT_TRUE(role.name.empty());
}

TEST(Hazard, Row26_ASupplyThatStillFeedsTheRigIsNeverSafe) {
  Room room{{.scenario = "name = \"left lying\"\n[vehicle]\nrecover_seconds = 120.0\n",
             .faults = {"regulator_creep,litres_per_minute=60,step=released,after_seconds=2,lasting_seconds=60"}}};
  ASSERT_TRUE(room.until_step(Step::recording, kTrialSeconds)) << room.path();
  room.run(3.0);
  for (int second = 0; second < 50; ++second) {
    EXPECT_NE(room.view().headline, Headline::safe) << second;
    room.run(1.0);
  }
  EXPECT_EQ(room.bench().step(), Step::keep_clear) << room.path();
}

TEST(Hazard, Row27_ALineInsideTheReachIsWarnedOfAndTheWarningStored) {
  std::string text{virtual_setup_text()};
  text.replace(text.find("distance_metres = 45.0"), 22, "distance_metres = 12.0");
  Room room{{.setup_text = text}};
  ASSERT_TRUE(room.until_step(Step::checks, 10.0));
  const KeepOut keep_out = room.view().keep_out;
  EXPECT_GE(keep_out.warnings.size(), 2U) << "the floor and the reach";
  EXPECT_GT(keep_out.reach_metres, 12.0);
  EXPECT_FALSE(keep_out.edition.empty());
  EXPECT_THAT(room.said(), HasSubstr("the projectile's reach"));
}

TEST(Hazard, Row30_ABurntFiringResistorShowsInTheCurrentOfTheRecord) {
  const auto largest_amperes = [](Room& room) {
    EXPECT_TRUE(room.until_trial_ended(kHoldSeconds)) << room.path();
    const auto archive = Campaign::open_read_only(room.campaign_file());
    const auto judged = judge_trial(*archive, 1);
    const auto* trace = judged ? analysis::find(judged->traces, analysis::Role::dummy_load_current) : nullptr;
    EXPECT_NE(trace, nullptr);
    return trace == nullptr ? 0.0 : *std::ranges::max_element(trace->samples);
  };
  Room sound{{.scenario = "load_box", .setup_text = setup_with_dummy_loads()}};
  EXPECT_NEAR(largest_amperes(sound), 8.0 / 3.5, 0.2);
  Room burnt{{.scenario = "load_box", .faults = {"burnt_series_resistor"}, .setup_text = setup_with_dummy_loads()}};
  EXPECT_LT(largest_amperes(burnt), 0.3);
}

TEST(Hazard, Row31_AFullDiskOrAChangedSetupIsRefusedBeforeTheCharge) {
  Room room{{}};
  ASSERT_TRUE(room.until_step(Step::checks, 10.0));
  room.surroundings.archive_room_bytes = 1'000'000;
  expect_no_charge(room, "archive room", "1 MB free");
  Room changed{{}};
  ASSERT_TRUE(changed.until_step(Step::checks, 10.0));
  changed.surroundings.setup_file_same = false;
  expect_no_charge(changed, "setup unchanged", "differs");
}

TEST(Hazard, Row32_EveryTrialIsSignedAnew) {
  Room room{{}};
  ASSERT_TRUE(room.until_trial_ended(kHoldSeconds)) << room.path();
  EXPECT_EQ(room.ended().front().verdict, "pass") << room.ended().front().sentence;
  room.people.sign = false;
  room.until([&] { return room.view().next.enabled; }, 10.0);
  room.ask(OperatorRequest::begin);
  expect_no_charge(room, "checklist", "operator: not signed");
}

TEST(Hazard, Row33_AnEmergencyStopUnderPressureVentsByTheBoardItself) {
  Room room{{.faults = {"stop_loop_opens,step=holding,after_seconds=0.3"}, .people = {.release = false}}};
  ASSERT_TRUE(room.until_step(Step::aborting, kTrialSeconds)) << room.path();
  room.run(0.2);
  EXPECT_TRUE(room.rig_vented());
  EXPECT_THAT(room.said(), HasSubstr("emergency-stop loop open"));
}

TEST(Hazard, Row34_AValveThatReadsBackOtherwiseIsRefusedOrVents) {
  Room before{{.faults = {"readback_stuck,output=2"}}};
  before.until_step(Step::settling, 20.0);
  EXPECT_THAT(before.path(), Not(HasSubstr("settling"))) << "the vent cannot be seen to shut";
  EXPECT_TRUE(before.until([&] { return before.vent_open(); }, 5.0));
}

TEST(Hazard, Row35_ADetectorThatHearsARecordingMovesNoGas) {
  const wire::Command begin{.id = 900, .code = wire::CommandCode::begin_playback, .argument = 1000};
  Room before{{.people = {.act = false}}};
  before.run(1.0);
  ASSERT_EQ(before.bench().step(), Step::idle) << before.path();
  before.tell_flight_board(begin);
  ASSERT_TRUE(before.until([&] { return !before.interlock("playback")->holds; }, 1.0));
  EXPECT_THAT(before.interlock("playback")->reading, HasSubstr("ON"));
  before.ask(OperatorRequest::begin);
  EXPECT_EQ(before.bench().step(), Step::idle) << before.path();
  before.people.act = true;
  EXPECT_TRUE(before.until_step(Step::checks, 10.0)) << "the board ends a playback whose host is silent";
  Room charged{{.people = {.release = false}}};
  ASSERT_TRUE(charged.until_step(Step::settling, kTrialSeconds)) << charged.path();
  charged.tell_flight_board(begin);
  charged.run(1.0);
  EXPECT_EQ(charged.interlock("playback")->reading, "off") << "a board that records a trial begins no playback";
  EXPECT_EQ(charged.ended().size(), 0U) << charged.said();
}

}  // namespace
}  // namespace coldstroke::daq
