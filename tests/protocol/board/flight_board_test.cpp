// SPDX-License-Identifier: GPL-3.0-or-later
#include "protocol/board/flight_board.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "tests/protocol/board/flight_on_desk.hpp"
#include "tests/protocol/board/rig_on_desk.hpp"

namespace coldstroke::wire {
namespace {

/// 10 g net for 50 ms from sample `start`, fall (free of force) for 1 s, a landing blow, rest.
auto ejection(std::uint64_t start) {
  return [start](std::uint64_t k) -> std::int16_t {
    if (k < start || k >= start + 2200) return 100;
    if (k < start + 100) return 1100;
    return k < start + 2180 ? 0 : 5000;
  };
}

TEST(FlightBoard, AnswersHelloWithIdentityStreamAndSettings) {
  FlightOnDesk desk;
  const auto said = desk.said();
  EXPECT_TRUE(said.at(0) == (Message{Event{1000, EventCode::power_up, 5}}));
  const auto identity = all_of<Identity>(said);
  ASSERT_EQ(identity.size(), 1U);
  EXPECT_EQ(identity[0].kind, NodeKind::flight_board);
  EXPECT_EQ(identity[0].setting_count, 2);
  const auto stream = all_of<StreamDescription>(said);
  ASSERT_EQ(stream.size(), 1U);
  EXPECT_EQ(stream[0].bits, 16);
  ASSERT_EQ(stream[0].channels.size(), 3U);
  EXPECT_EQ(stream[0].channels[2], (ChannelDescription{Quantity::acceleration, 0.0980665F, "accel_z"}));
  EXPECT_EQ(all_of<DetectorSetting>(said),
            (std::vector<DetectorSetting>{{0, "detector", "moving_mean"}, {1, "window_ms", "20"}}));
}

TEST(FlightBoard, DecidesAndSaysSoAtOnce) {
  FlightOnDesk desk;
  desk.acceleration = ejection(1000);
  while (desk.flight->sample_index < 1015) desk.run(500);
  desk.said();
  desk.run(500);  // sample 1015: 16 samples of 1000 net over 40 = 400
  const auto said = desk.said();
  EXPECT_TRUE(has_event(said, EventCode::detector_decided));
  EXPECT_EQ(all_of<Event>(said).back().argument, 1015U);
  const auto states = all_of<FlightState>(said);
  ASSERT_FALSE(states.empty());
  EXPECT_EQ(states[0].detector, DetectorState::decided);
  EXPECT_EQ(states[0].decision_us, desk.now_us);
  EXPECT_EQ(states[0].decision_count, 1U);
}

TEST(FlightBoard, ResetDetectorForgetsTheDecision) {
  FlightOnDesk desk;
  desk.acceleration = ejection(100);
  desk.run(2000000);
  EXPECT_EQ(desk.flight->detector.state, CS_DETECTOR_DECIDED);
  EXPECT_EQ(desk.command(CommandCode::reset_detector), Reason::done);
  const auto states = all_of<FlightState>(desk.last_said);
  ASSERT_FALSE(states.empty());
  EXPECT_EQ(states.back().detector, DetectorState::idle);
  EXPECT_EQ(states.back().decision_us, kNoTime);
  EXPECT_EQ(states.back().decision_count, 0U);
}

TEST(FlightBoard, InhibitsItselfAfterTheDecisionDeadlineAndSaysSo) {
  auto config = flight_config();
  config.detector.threshold_counts = 3000;
  config.detector.deadline_samples = 200;
  FlightOnDesk desk{config};
  desk.acceleration = ejection(100);
  desk.run(1000000);
  const auto said = desk.said();
  EXPECT_TRUE(has_event(said, EventCode::detector_building));
  EXPECT_TRUE(has_event(said, EventCode::detector_inhibited));
  EXPECT_FALSE(has_event(said, EventCode::detector_decided));
  EXPECT_EQ(all_of<FlightState>(said).back().detector, DetectorState::inhibited);
}

TEST(FlightBoard, ShowsArmSwitchContinuityAndResistance) {
  FlightOnDesk desk;
  desk.said();
  desk.inputs.armed_switch = true;
  desk.inputs.milliohms[1] = 2200;
  desk.run(1000);
  const auto states = all_of<FlightState>(desk.said());
  ASSERT_EQ(states.size(), 1U) << "at once";
  EXPECT_TRUE(states[0].armed_switch);
  EXPECT_EQ(states[0].continuity_mask, 2);
  EXPECT_EQ(states[0].milliohms, (std::vector<std::uint32_t>{kOpenCircuit, 2200}));
  EXPECT_EQ(states[0].battery_mv, 7400);
  EXPECT_EQ(states[0].reset_count, 5U);
}

TEST(FlightBoard, RefusesEveryCommandThatIsNotItsOwn) {
  FlightOnDesk desk;
  for (unsigned code = 0; code < 256; ++code) {
    if (code >= 20 && code <= 24) continue;
    EXPECT_EQ(desk.command(static_cast<CommandCode>(code), 1), Reason::unknown_command) << code;
  }
  FlightOnDesk stranger{flight_config(), false};
  EXPECT_EQ(stranger.command(CommandCode::reset_detector), Reason::no_compatible_hello);
}

TEST(FlightBoard, RecordsNeedAnIdAndARepeatedBeginDoesNotEmptyTheMemory) {
  FlightOnDesk desk;
  EXPECT_EQ(desk.command(CommandCode::end_record), Reason::wrong_step);
  EXPECT_EQ(desk.command(CommandCode::begin_record, 0), Reason::argument_out_of_range);
  EXPECT_EQ(desk.command(CommandCode::begin_record, 7), Reason::done);
  desk.run(100000);
  EXPECT_EQ(desk.flight->memory_count, 200U);
  EXPECT_EQ(desk.command(CommandCode::begin_record, 7), Reason::duplicate);
  EXPECT_EQ(desk.flight->memory_count, 200U);
  EXPECT_EQ(desk.command(CommandCode::begin_record, 8), Reason::done);
  EXPECT_EQ(desk.flight->memory_count, 0U);
}

TEST(FlightBoard, FreezesWithTheTriggerWhereTheConfigurationPutsIt) {
  FlightOnDesk desk;
  desk.command(CommandCode::begin_record, 7);
  desk.acceleration = ejection(10000);
  desk.run(30000000);
  EXPECT_FALSE(desk.flight->recording);
  EXPECT_EQ(desk.flight->trigger_index, 10000U);
  EXPECT_EQ(desk.flight->memory_first, 6000U);
  EXPECT_EQ(desk.flight->memory_count, CS_FLIGHT_MEMORY);
  EXPECT_EQ(desk.flight->memory_last_us, 1500U + 500U * (6000U + CS_FLIGHT_MEMORY - 1U));
  EXPECT_TRUE(has_event(desk.said(), EventCode::record_frozen));
}

/// What a host does after reconnection: summary, decisions, samples.
struct ReadBack {
  MemorySummary summary;
  std::vector<MemoryDecision> decisions;
  std::vector<MemorySamples> blocks;
  std::vector<MemoryEnd> ends;
};

ReadBack read_back(FlightOnDesk& desk) {
  ReadBack read;
  desk.said();
  desk.send(MemoryRequest{MemoryPart::summary, 0, 0});
  read.summary = all_of<MemorySummary>(desk.said()).at(0);
  desk.send(MemoryRequest{MemoryPart::decisions, 0, 0});
  desk.run(100000);
  auto said = desk.said();
  read.decisions = all_of<MemoryDecision>(said);
  read.ends = all_of<MemoryEnd>(said);
  desk.send(MemoryRequest{MemoryPart::samples, read.summary.first_index, static_cast<std::uint32_t>(read.summary.sample_count)});
  for (int i = 0; i < 1000 && read.ends.size() < 2; ++i) {
    desk.run(100000);
    said = desk.said();
    for (auto& block : all_of<MemorySamples>(said)) read.blocks.push_back(block);
    for (auto& end : all_of<MemoryEnd>(said)) read.ends.push_back(end);
  }
  return read;
}

TEST(FlightBoard, DecisionAndSamplesSurviveALostCableAndAreReadBack) {
  FlightOnDesk desk;
  desk.command(CommandCode::begin_record, 7);
  const std::uint64_t start = 10000;
  desk.acceleration = ejection(start);
  desk.run(5005000);
  desk.cable = false;  // separation
  desk.run(20000000);
  desk.cable = true;
  desk.send(Hello{.session = 2});
  const ReadBack read = read_back(desk);
  EXPECT_EQ(read.summary.record_id, 7U);
  EXPECT_TRUE(read.summary.frozen);
  EXPECT_EQ(read.summary.first_index, start - 4000);
  EXPECT_EQ(read.summary.first_time_us, 1500 + 500 * (start - 4000));
  ASSERT_EQ(read.decisions.size(), 1U);
  EXPECT_EQ(read.decisions[0], (MemoryDecision{7, 0, 1500 + 500 * (start + 15), start + 15}));
  ASSERT_EQ(read.ends.size(), 2U);
  EXPECT_EQ(read.ends[0], (MemoryEnd{7, MemoryPart::decisions, 1}));
  EXPECT_EQ(read.ends[1], (MemoryEnd{7, MemoryPart::samples, CS_FLIGHT_MEMORY}));
  std::uint64_t next = start - 4000;
  for (const MemorySamples& part : read.blocks) {
    ASSERT_EQ(part.record_id, 7U);
    ASSERT_EQ(part.block.first_index, next);
    ASSERT_EQ(part.block.node_time_us, 1500 + 500 * next);
    for (std::size_t i = 0; i < part.block.counts.size(); i += 3, ++next) {
      ASSERT_EQ(part.block.counts[i], static_cast<std::int32_t>(next % 30000));
      ASSERT_EQ(part.block.counts[i + 1], -7);
      ASSERT_EQ(part.block.counts[i + 2], ejection(start)(next));
    }
  }
  EXPECT_EQ(next, start - 4000 + CS_FLIGHT_MEMORY);
}

TEST(FlightBoard, ReadBackLeavesTheLiveStreamWholeAndAnswersQuick) {
  FlightOnDesk desk;
  desk.command(CommandCode::begin_record, 7);
  desk.run(3000000);
  desk.command(CommandCode::end_record);
  desk.said();
  const auto before = desk.decoder().counts();
  desk.send(MemoryRequest{MemoryPart::samples, 0, UINT32_MAX});
  std::size_t worst_waiting = 0;
  for (int i = 0; i < 1000; ++i) {
    desk.run(1000);
    worst_waiting = std::max(worst_waiting, cs_line_waiting(&desk.flight->line));
  }
  const auto said = desk.said();
  EXPECT_EQ(all_of<MemoryEnd>(said).size(), 1U);
  EXPECT_EQ(all_of<SampleBlock>(said).size(), 200U);
  EXPECT_EQ(desk.flight->line.frames_dropped, 0U);
  EXPECT_LT(worst_waiting, 1800U) << "an answer waits at most 20 ms of line";
  EXPECT_EQ(desk.decoder().counts().fault(FrameFault::lost), before.fault(FrameFault::lost));
}

TEST(FlightBoard, AHostAsksAgainForWhatIsMissing) {
  FlightOnDesk desk;
  desk.command(CommandCode::begin_record, 7);
  desk.run(3000000);
  desk.command(CommandCode::end_record);
  const std::uint64_t first = desk.flight->memory_first;
  const auto items = [&desk](std::uint64_t from, std::uint32_t count) {
    desk.said();
    desk.send(MemoryRequest{MemoryPart::samples, from, count});
    desk.run(1000000);
    const auto said = desk.said();
    std::size_t values = 0;
    for (const auto& part : all_of<MemorySamples>(said)) values += part.block.counts.size() / 3;
    EXPECT_EQ(all_of<MemoryEnd>(said).at(0).items, values);
    return values;
  };
  EXPECT_EQ(items(first + 100, 130), 130U);
  EXPECT_EQ(items(first, 1), 1U);
  EXPECT_EQ(items(0, 10), 0U) << "before the record";
  EXPECT_EQ(items(first + 1000000, 10), 0U) << "after it";
  EXPECT_EQ(items(UINT64_MAX, UINT32_MAX), 0U);
  EXPECT_EQ(items(first + desk.flight->memory_count - 5, UINT32_MAX), 5U);
}

TEST(FlightBoard, AnEmptyMemorySaysSo) {
  FlightOnDesk desk;
  const ReadBack read = read_back(desk);
  EXPECT_EQ(read.summary.record_id, 0U);
  EXPECT_EQ(read.summary.sample_count, 0U);
  EXPECT_EQ(read.summary.first_time_us, kNoTime);
  EXPECT_FALSE(read.summary.frozen);
  EXPECT_TRUE(read.blocks.empty());
  EXPECT_EQ(read.ends.size(), 2U);
}

TEST(FlightBoard, ALateDecisionIsKeptAfterTheSamplesAreFrozenButNotAfterEndRecord) {
  FlightOnDesk desk;
  desk.command(CommandCode::begin_record, 7);
  desk.acceleration = [](std::uint64_t k) -> std::int16_t { return k == 5000 || k >= 40000 ? 1100 : 100; };
  desk.run(21000000);
  EXPECT_FALSE(desk.flight->recording);
  EXPECT_EQ(desk.flight->decisions_kept, 1U);
  desk.command(CommandCode::reset_detector);
  desk.run(100000);
  EXPECT_EQ(desk.flight->decisions_kept, 2U) << "a further decision";
  desk.command(CommandCode::end_record);
  desk.command(CommandCode::reset_detector);
  desk.run(100000);
  EXPECT_EQ(desk.flight->detector.state, CS_DETECTOR_DECIDED);
  EXPECT_EQ(desk.flight->decisions_kept, 2U);
}

TEST(FlightBoard, ABrownOutLosesTheMemoryAndShowsInTheResetCount) {
  FlightOnDesk desk;
  desk.command(CommandCode::begin_record, 7);
  desk.run(100000);
  auto config = flight_config();
  config.identity.boot_count = 6;
  cs_flight_init(desk.flight.get(), &config, desk.now_us);
  desk.said();
  desk.run(20000);
  const auto states = all_of<FlightState>(desk.said());
  ASSERT_FALSE(states.empty());
  EXPECT_EQ(states[0].reset_count, 6U);
  EXPECT_EQ(states[0].record_id, 0U);
  EXPECT_EQ(desk.command(CommandCode::begin_record, 8), Reason::no_compatible_hello) << "the host must say hello again";
}

TEST(FlightBoard, BadDetectorSettingsAreSaidAloud) {
  auto config = flight_config();
  config.detector.window_samples = 0;
  FlightOnDesk desk{config};
  desk.acceleration = ejection(100);
  desk.run(200000);
  const auto said = desk.said();
  EXPECT_EQ(all_of<LogLine>(said).size(), 1U);
  EXPECT_EQ(all_of<FlightState>(said).back().detector, DetectorState::inhibited);
  EXPECT_FALSE(has_event(said, EventCode::detector_decided));
}

}  // namespace
}  // namespace coldstroke::wire
