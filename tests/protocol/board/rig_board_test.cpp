// SPDX-License-Identifier: GPL-3.0-or-later
#include "protocol/board/rig_board.h"

#include <gtest/gtest.h>

#include "tests/protocol/board/rig_on_desk.hpp"

namespace coldstroke::wire {
namespace {

TEST(RigBoard, PowersUpVentedAndSaysSoFirst) {
  RigOnDesk desk;
  const auto said = desk.said();
  ASSERT_FALSE(said.empty());
  EXPECT_TRUE(said[0] == (Message{Event{5000, EventCode::power_up, 3}}));
  EXPECT_TRUE(desk.vented());
  EXPECT_EQ(all_of<RigState>(said)[0].outputs, kVentValve);
}

TEST(RigBoard, AnswersHelloWithIdentityAndStream) {
  RigOnDesk desk;
  desk.said();
  desk.send(Hello{.session = 77});
  const auto said = desk.said();
  const auto identity = all_of<Identity>(said);
  ASSERT_EQ(identity.size(), 1U);
  EXPECT_EQ(identity[0].kind, NodeKind::rig_board);
  EXPECT_EQ(identity[0].session, 77U);
  EXPECT_EQ(identity[0].boot_count, 3U);
  EXPECT_EQ(identity[0].stream_count, 1);
  const auto stream = all_of<StreamDescription>(said);
  ASSERT_EQ(stream.size(), 1U);
  ASSERT_EQ(stream[0].channels.size(), 4U);
  EXPECT_EQ(stream[0].channels[0], (ChannelDescription{Quantity::force, 0.5F, "force"}));
  EXPECT_EQ(stream[0].channels[1], (ChannelDescription{Quantity::gauge_pressure, 0.5F, "supply"}));
  EXPECT_EQ(stream[0].channels[2], (ChannelDescription{Quantity::gauge_pressure, 0.5F, "chamber"}));
  EXPECT_EQ(stream[0].channels[3], (ChannelDescription{Quantity::current, 0.5F, "dummy_current"}));
  EXPECT_EQ(stream[0].period_ns, 100000U);
}

TEST(RigBoard, StreamsEverySampleWithItsIndexAndTime) {
  RigOnDesk desk;
  desk.said();
  const std::uint64_t first = desk.rig->sample_index;
  desk.run(100000);
  const auto blocks = all_of<SampleBlock>(desk.said());
  ASSERT_EQ(blocks.size(), 50U);
  for (std::size_t k = 0; k < blocks.size(); ++k) {
    EXPECT_EQ(blocks[k].first_index, first + 20 * k);
    EXPECT_EQ(blocks[k].node_time_us, 5100 + 100 * blocks[k].first_index);
    ASSERT_EQ(blocks[k].counts.size(), 80U);
    EXPECT_EQ(blocks[k].counts[78], -20);
  }
  EXPECT_EQ(desk.decoder().counts().fault(FrameFault::lost), 0U);
}

TEST(RigBoard, SamplesOutsideTheirWidthReadTheEndOfTheRange) {
  RigOnDesk desk;
  desk.said();
  desk.counts[0] = INT32_MAX;
  desk.counts[2] = INT32_MIN;
  desk.run(10000);
  const auto blocks = all_of<SampleBlock>(desk.said());
  ASSERT_FALSE(blocks.empty());
  EXPECT_EQ(blocks.back().counts[0], 8388607);
  EXPECT_EQ(blocks.back().counts[2], -8388608);
}

TEST(RigBoard, SendsItsStateEvery20MillisecondsAndAtOnceAfterAChange) {
  RigOnDesk desk;
  desk.heartbeats = false;
  desk.said();
  desk.run(200000);
  EXPECT_EQ(all_of<RigState>(desk.said()).size(), 10U);
  desk.command(CommandCode::open_lid);
  const auto states = all_of<RigState>(desk.last_said);
  ASSERT_EQ(states.size(), 1U);
  EXPECT_EQ(states[0].outputs, kVentValve | kLidOpen);
  EXPECT_EQ(states[0].node_time_us, desk.now_us);
}

TEST(RigBoard, ChargesHoldsReleasesAndShutsTheFastValvesByItself) {
  RigOnDesk desk;
  ASSERT_EQ(desk.charge(), Reason::done);
  EXPECT_EQ(desk.rig->outputs, kChargeValve);
  EXPECT_EQ(desk.rig->step, CS_RIG_CHARGING);
  EXPECT_TRUE(has_event(desk.last_said, EventCode::vent_shut));
  EXPECT_TRUE(has_event(desk.last_said, EventCode::charge_opened));
  desk.run(50000);
  EXPECT_EQ(desk.command(CommandCode::stop_charge), Reason::done);
  EXPECT_EQ(desk.rig->outputs, 0);
  EXPECT_EQ(desk.rig->step, CS_RIG_HOLDING);
  desk.run(50000);
  ASSERT_EQ(desk.release(80000), Reason::done);
  EXPECT_EQ(desk.rig->outputs, kFastValves);
  const auto opened = all_of<Event>(desk.last_said);
  ASSERT_EQ(opened.size(), 1U);
  EXPECT_EQ(opened[0], (Event{desk.now_us, EventCode::fast_valves_opened, 80000}));
  const std::uint64_t released = desk.now_us;
  while (desk.rig->outputs != 0 && desk.now_us - released < 1000000) desk.run(100);
  EXPECT_EQ(desk.now_us - released, 80000U);
  EXPECT_EQ(desk.rig->step, CS_RIG_RELEASED);
  desk.run(200000);
  EXPECT_EQ(desk.rig->step, CS_RIG_RELEASED) << "until vent";
  EXPECT_EQ(desk.command(CommandCode::vent), Reason::done);
  EXPECT_TRUE(desk.vented());
  EXPECT_EQ(desk.rig->faults, 0);
}

TEST(RigBoard, ChargeMayGoOnFromHolding) {
  RigOnDesk desk;
  desk.hold();
  EXPECT_EQ(desk.charge(), Reason::done);
  EXPECT_EQ(desk.rig->step, CS_RIG_CHARGING);
}

TEST(RigBoard, WatchdogVentsAfter250MillisecondsWithoutAHeartbeat) {
  RigOnDesk desk;
  desk.hold();
  desk.send(Heartbeat{1000});
  desk.heartbeats = false;
  desk.said();
  const std::uint64_t last = desk.now_us;
  while (!desk.vented() && desk.now_us < last + 1000000) desk.run(100);
  EXPECT_EQ(desk.now_us - last, 250100U) << "at the first tick past 250 ms";
  EXPECT_EQ(desk.rig->faults, kFaultWatchdog);
  EXPECT_TRUE(has_event(desk.said(), EventCode::vented_by_watchdog));
  EXPECT_EQ(desk.charge(), Reason::fault_latched);
}

TEST(RigBoard, WatchdogWorksFromStepAloneWhenTheConverterIsSilent) {
  RigOnDesk desk;
  desk.hold();
  desk.heartbeats = false;
  desk.samples = false;
  desk.run(400000);
  EXPECT_TRUE(desk.vented());
}

TEST(RigBoard, ARepeatedOrOlderHeartbeatDoesNotKeepARigCharged) {
  RigOnDesk desk;
  desk.hold();
  desk.heartbeats = false;
  desk.send(Heartbeat{1000});
  for (int i = 0; i < 30; ++i) {
    desk.run(20000);
    desk.send(Heartbeat{i % 2 == 0 ? 1000U : 999U});
  }
  EXPECT_TRUE(desk.vented());
  EXPECT_EQ(desk.rig->faults, kFaultWatchdog);
}

TEST(RigBoard, HeartbeatCountsWrap) {
  RigOnDesk desk;
  desk.hold();
  desk.heartbeats = false;
  std::uint32_t count = 0x7FFFFFF0U;
  for (const std::uint32_t next : {0x7FFFFFF0U, 0xFFFFFFE0U, 0x00000001U}) {
    desk.send(Heartbeat{count = next});
    desk.run(200000);
    ASSERT_FALSE(desk.vented()) << count;
  }
}

TEST(RigBoard, OverPressureVentsAtTheSampleThatShowsIt) {
  RigOnDesk desk;
  ASSERT_EQ(desk.charge(), Reason::done);
  desk.run(10000);
  desk.counts[1] = 999999;
  desk.run(10000);
  EXPECT_FALSE(desk.vented());
  desk.counts[1] = 1000000;
  desk.said();
  desk.run(100);
  EXPECT_TRUE(desk.vented());
  const auto said = desk.said();
  EXPECT_TRUE(has_event(said, EventCode::vented_by_over_pressure));
  EXPECT_TRUE(has_event(said, EventCode::charge_shut));
  EXPECT_TRUE(has_event(said, EventCode::vent_opened));
  EXPECT_EQ(desk.command(CommandCode::clear_faults), Reason::fault_still_present);
  EXPECT_EQ(desk.rig->faults, kFaultOverPressure);
  desk.counts[1] = 0;
  desk.run(1000);
  EXPECT_EQ(desk.command(CommandCode::clear_faults), Reason::done);
  EXPECT_EQ(desk.rig->faults, 0);
}

TEST(RigBoard, ASilentPressureSensorCountsAsOverPressure) {
  RigOnDesk desk;
  desk.hold();
  desk.samples = false;
  desk.run(99000);
  EXPECT_FALSE(desk.vented());
  desk.run(3000);
  EXPECT_TRUE(desk.vented());
  EXPECT_EQ(desk.rig->faults, kFaultOverPressure);
  desk.command(CommandCode::clear_faults);
  EXPECT_EQ(desk.charge(), Reason::fault_latched);
}

TEST(RigBoard, AnOpenStopLoopVentsAndMustBeClearedByHand) {
  RigOnDesk desk;
  desk.hold();
  desk.inputs.inputs = kReleaseKeyIn;
  desk.run(1000);
  EXPECT_TRUE(desk.vented());
  EXPECT_EQ(desk.rig->faults, kFaultStopLoop);
  EXPECT_EQ(desk.command(CommandCode::clear_faults), Reason::fault_still_present);
  desk.inputs.inputs = kAllInputs;
  desk.run(1000);
  EXPECT_EQ(desk.charge(), Reason::fault_latched) << "closing the loop alone starts nothing";
  EXPECT_EQ(desk.command(CommandCode::clear_faults), Reason::done);
  EXPECT_EQ(desk.charge(), Reason::done);
}

TEST(RigBoard, AnOpenStopLoopWhileVentedLatchesNothingButRefusesGas) {
  RigOnDesk desk;
  desk.inputs.inputs = kReleaseKeyIn;
  desk.run(10000);
  EXPECT_EQ(desk.rig->faults, 0);
  EXPECT_EQ(desk.charge(), Reason::stop_loop_open);
  EXPECT_EQ(desk.command(CommandCode::open_lid), Reason::stop_loop_open);
}

TEST(RigBoard, ALowElectricalSupplyVents) {
  RigOnDesk desk;
  desk.hold();
  desk.inputs.supply_mv = 19999;
  desk.run(1000);
  EXPECT_TRUE(desk.vented());
  EXPECT_EQ(desk.rig->faults, kFaultSupply);
  EXPECT_TRUE(has_event(desk.said(), EventCode::vented_by_supply));
}

TEST(RigBoard, AValveThatDoesNotObeyFor100MillisecondsVents) {
  RigOnDesk desk;
  desk.hold();
  desk.valves_obey = false;
  desk.inputs.readback = kChargeValve;
  desk.run(100000);
  EXPECT_FALSE(desk.vented());
  desk.run(2000);
  EXPECT_TRUE(desk.vented());
  EXPECT_EQ(desk.rig->faults, kFaultReadback);
  EXPECT_TRUE(has_event(desk.said(), EventCode::vented_by_readback));
  EXPECT_EQ(desk.command(CommandCode::clear_faults), Reason::fault_still_present);
}

TEST(RigBoard, TheLidsReadbackIsShownButIsNoFault) {
  RigOnDesk desk;
  desk.valves_obey = false;
  desk.command(CommandCode::open_lid);
  desk.run(300000);
  EXPECT_EQ(desk.rig->faults, 0);
}

TEST(RigBoard, ChargeIsRefusedWhileTheVentDoesNotReadBack) {
  RigOnDesk desk;
  desk.valves_obey = false;
  desk.inputs.readback = 0;
  desk.run(1000);
  EXPECT_EQ(desk.charge(), Reason::vent_stuck);
  EXPECT_TRUE(desk.vented());
}

TEST(RigBoard, ReleaseIsRefusedWithItsReason) {
  RigOnDesk desk;
  EXPECT_EQ(desk.release(1000), Reason::wrong_step) << "vented";
  desk.charge();
  desk.run(5000);
  EXPECT_EQ(desk.release(1000), Reason::wrong_step) << "charging";
  desk.command(CommandCode::stop_charge);
  EXPECT_EQ(desk.release(0), Reason::argument_out_of_range);
  EXPECT_EQ(desk.release(500001), Reason::argument_out_of_range);
  desk.inputs.inputs = kStopLoopClosed;
  desk.run(1000);
  EXPECT_EQ(desk.release(1000), Reason::key_out);
  desk.inputs.inputs = kAllInputs;
  desk.run(1000);
  EXPECT_EQ(desk.rig->outputs, 0) << "nothing opened so far";
  EXPECT_EQ(desk.release(500000), Reason::done);
  EXPECT_EQ(desk.release(1000), Reason::wrong_step) << "once a charge";
}

TEST(RigBoard, GasIsRefusedWithoutAFreshHeartbeat) {
  RigOnDesk desk;
  desk.heartbeats = false;
  desk.run(300000);
  EXPECT_EQ(desk.rig->faults, 0) << "vented: nothing to protect";
  EXPECT_EQ(desk.charge(), Reason::no_heartbeat);
}

TEST(RigBoard, ATokenIsBoundToItsPurposeAndBurntByTheAttempt) {
  RigOnDesk desk;
  desk.hold();
  const std::uint32_t token = desk.token_for(CommandCode::charge);
  ASSERT_NE(token, 0U);
  EXPECT_EQ(desk.command(CommandCode::release, 1000, token), Reason::wrong_token);
  EXPECT_EQ(desk.command(CommandCode::charge, 0, token), Reason::no_token) << "burnt";
  EXPECT_EQ(desk.rig->outputs, 0);
}

TEST(RigBoard, AWrongTokenBurnsTheLiveOne) {
  RigOnDesk desk;
  desk.hold();
  const std::uint32_t token = desk.token_for(CommandCode::release);
  EXPECT_EQ(desk.command(CommandCode::release, 1000, token ^ 1U), Reason::wrong_token);
  EXPECT_EQ(desk.command(CommandCode::release, 1000, token), Reason::no_token);
  EXPECT_EQ(desk.rig->outputs, 0);
}

TEST(RigBoard, ATokenWorksOnce) {
  RigOnDesk desk;
  const std::uint32_t token = desk.token_for(CommandCode::charge);
  EXPECT_EQ(desk.command(CommandCode::charge, 0, token), Reason::done);
  desk.run(5000);
  desk.command(CommandCode::stop_charge);
  EXPECT_EQ(desk.command(CommandCode::charge, 0, token), Reason::no_token);
  EXPECT_EQ(desk.rig->step, CS_RIG_HOLDING);
}

TEST(RigBoard, ANewTokenReplacesTheLiveOne) {
  RigOnDesk desk;
  const std::uint32_t first = desk.token_for(CommandCode::charge);
  const std::uint32_t second = desk.token_for(CommandCode::charge);
  EXPECT_NE(first, second);
  EXPECT_EQ(desk.command(CommandCode::charge, 0, first), Reason::wrong_token);
  EXPECT_TRUE(desk.vented());
}

TEST(RigBoard, ATokenDiesAfterThreeSecondsAndSaysSo) {
  RigOnDesk desk;
  const std::uint32_t token = desk.token_for(CommandCode::charge);
  desk.said();
  desk.run(2999900);
  EXPECT_FALSE(has_event(desk.said(), EventCode::token_expired));
  desk.run(100);
  EXPECT_TRUE(has_event(desk.said(), EventCode::token_expired));
  EXPECT_EQ(desk.command(CommandCode::charge, 0, token), Reason::token_expired);
  EXPECT_TRUE(desk.vented());
}

TEST(RigBoard, VentAndStopChargeKillWhatIsStillOnItsWay) {
  RigOnDesk desk;
  std::uint32_t token = desk.token_for(CommandCode::charge);
  desk.command(CommandCode::vent);
  EXPECT_EQ(desk.command(CommandCode::charge, 0, token), Reason::no_token);
  desk.hold();
  token = desk.token_for(CommandCode::charge);
  desk.command(CommandCode::stop_charge);
  EXPECT_EQ(desk.command(CommandCode::charge, 0, token), Reason::no_token);
  token = desk.token_for(CommandCode::release);
  desk.command(CommandCode::stop_charge);
  EXPECT_EQ(desk.command(CommandCode::release, 1000, token), Reason::done) << "stop_charge leaves a release token alone";
}

TEST(RigBoard, TokensAreOnlyForChargeAndRelease) {
  RigOnDesk desk;
  for (std::uint32_t purpose = 0; purpose < 300; ++purpose) {
    const bool gas = purpose == 2 || purpose == 5;
    EXPECT_EQ(desk.command(CommandCode::request_token, purpose), gas ? Reason::done : Reason::argument_out_of_range) << purpose;
  }
}

TEST(RigBoard, ARepeatedIdIsAcknowledgedAsDuplicateAndNotDoneAgain) {
  RigOnDesk desk;
  EXPECT_EQ(desk.answer_to({7, CommandCode::open_lid, 0, 0}), Reason::done);
  EXPECT_EQ(desk.answer_to({8, CommandCode::shut_lid, 0, 0}), Reason::done);
  EXPECT_EQ(desk.answer_to({7, CommandCode::open_lid, 0, 0}), Reason::duplicate);
  EXPECT_EQ(desk.rig->outputs, kVentValve) << "lid still shut";
  for (std::uint16_t id = 9; id < 8 + 16; ++id) desk.answer_to({id, CommandCode::clear_faults, 0, 0});
  EXPECT_EQ(desk.answer_to({8, CommandCode::shut_lid, 0, 0}), Reason::duplicate) << "the oldest of 16";
  desk.answer_to({24, CommandCode::clear_faults, 0, 0});
  EXPECT_EQ(desk.answer_to({7, CommandCode::open_lid, 0, 0}), Reason::done) << "forgotten";
}

TEST(RigBoard, ANewSessionForgetsIdsAndTokenButAHelloRepeatedDoesNot) {
  RigOnDesk desk;
  EXPECT_EQ(desk.answer_to({7, CommandCode::open_lid, 0, 0}), Reason::done);
  desk.send(Hello{.session = 1});
  EXPECT_EQ(desk.answer_to({7, CommandCode::shut_lid, 0, 0}), Reason::duplicate);
  const std::uint32_t token = desk.token_for(CommandCode::charge);
  desk.send(Hello{.session = 2});
  EXPECT_EQ(desk.answer_to({7, CommandCode::shut_lid, 0, 0}), Reason::done);
  EXPECT_EQ(desk.command(CommandCode::charge, 0, token), Reason::no_token);
}

TEST(RigBoard, VentIsDoneWhateverTheCircumstances) {
  RigOnDesk desk;
  desk.answer_to({7, CommandCode::vent, 0, 0});
  desk.hold();
  EXPECT_EQ(desk.answer_to({7, CommandCode::vent, 0, 0}), Reason::done) << "repeated id";
  EXPECT_TRUE(desk.vented());
  desk.hold();
  desk.send(Hello{.protocol_major = 2});
  EXPECT_EQ(desk.answer_to({8, CommandCode::vent, 99, 99}), Reason::done) << "another version";
  EXPECT_TRUE(desk.vented());
}

TEST(RigBoard, WithoutACompatibleHelloOnlyVentIsDone) {
  RigOnDesk desk{rig_config(), false};
  for (unsigned code = 0; code < 256; ++code) {
    const Reason expected = code == 4 ? Reason::done : Reason::no_compatible_hello;
    EXPECT_EQ(desk.command(static_cast<CommandCode>(code)), expected) << code;
  }
  EXPECT_FALSE(desk.rig->host_seen) << "nor does a heartbeat count";
  desk.said();
  desk.send(Hello{.protocol_major = 2, .protocol_minor = 0, .session = 5});
  const auto said = desk.said();
  EXPECT_EQ(all_of<Identity>(said).size(), 1U) << "so that the host can tell";
  EXPECT_EQ(all_of<StreamDescription>(said).size(), 0U);
  EXPECT_EQ(all_of<LogLine>(said).size(), 1U);
  EXPECT_EQ(desk.command(CommandCode::open_lid), Reason::no_compatible_hello);
  desk.send(Hello{.protocol_minor = 200, .session = 6});
  EXPECT_EQ(desk.command(CommandCode::open_lid), Reason::done) << "a newer minor version works";
}

TEST(RigBoard, AHostOfAnotherVersionCannotHoldACharge) {
  RigOnDesk desk;
  desk.hold();
  desk.send(Hello{.protocol_major = 2, .session = 9});
  desk.run(300000);
  EXPECT_TRUE(desk.vented());
}

TEST(RigBoard, FlightCommandsAndUnknownOnesAreRefused) {
  RigOnDesk desk;
  for (unsigned code = 0; code < 256; ++code) {
    if (code >= 1 && code <= 8) continue;
    EXPECT_EQ(desk.command(static_cast<CommandCode>(code), 1, 1), Reason::unknown_command) << code;
  }
  EXPECT_EQ(desk.rig->outputs, kVentValve);
}

TEST(RigBoard, AnswersAClockRequestWithBothTimes) {
  RigOnDesk desk;
  desk.said();
  desk.send(ClockRequest{9, -123});
  EXPECT_TRUE(desk.said() == (std::vector<Message>{ClockReply{9, -123, desk.now_us, desk.now_us}}));
}

TEST(RigBoard, AStalledLineDropsWholeFramesCountsThemAndKeepsRoomForAnswers) {
  RigOnDesk desk;
  const cs_rig_inputs inputs = desk.inputs;
  for (int i = 0; i < 20000; ++i) {  // two seconds nobody takes a byte
    desk.now_us += 100;
    cs_rig_sample(desk.rig.get(), desk.now_us, desk.counts);
    if (i % 10 == 0) cs_rig_step(desk.rig.get(), desk.now_us, &inputs);
  }
  const std::uint32_t dropped = desk.rig->line.frames_dropped;
  EXPECT_GT(dropped, 800U);
  EXPECT_EQ(desk.command(CommandCode::vent), Reason::done) << "the answer found room";
  EXPECT_EQ(desk.decoder().counts().fault(FrameFault::lost), dropped) << "the host sees the very same number";
  EXPECT_EQ(desk.decoder().counts().fault(FrameFault::bad_checksum), 0U);
}

TEST(RigBoard, AResetInMidChargeLeavesTheRigVented) {
  RigOnDesk desk;
  desk.hold();
  auto config = rig_config();
  config.identity.boot_count = 4;
  cs_rig_init(desk.rig.get(), &config, desk.now_us);
  EXPECT_TRUE(desk.vented());
  EXPECT_EQ(desk.command(CommandCode::release, 1000, 1), Reason::no_compatible_hello);
}

}  // namespace
}  // namespace coldstroke::wire
