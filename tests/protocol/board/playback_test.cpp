// SPDX-License-Identifier: GPL-3.0-or-later
//
// Stimulus playback as the board does it: who may start one, that no sample is lost or counted twice, and that nothing of it can
// be taken for a real trial.
#include <gtest/gtest.h>

#include <optional>
#include <random>

#include "tests/protocol/board/flight_on_desk.hpp"
#include "tests/protocol/board/rig_on_desk.hpp"

namespace coldstroke::wire {
namespace {

using Counts = std::vector<std::array<std::int16_t, 3>>;

/// 10 g net on z for 50 ms from sample 100 on: the mean over 40 samples reaches 4 g at sample 115.
Counts pulse(std::size_t samples = 1000) {
  Counts out(samples, {0, 0, 100});
  for (std::size_t k = 100; k < 200 && k < samples; ++k) out[k][2] = 1100;
  return out;
}

PlaybackSamples piece(std::uint32_t number, const Counts& counts, std::uint32_t first, std::uint32_t count) {
  return {number, first, {counts.begin() + first, counts.begin() + first + count}};
}

std::optional<PlaybackState> newest(const std::vector<Message>& said) {
  std::optional<PlaybackState> out;
  for (const auto& state : all_of<PlaybackState>(said)) out = state;
  return out;
}

/// Sends by credit alone, asking the board every few milliseconds; `lose` says which frames the line swallows.
PlaybackState play(
    FlightOnDesk& desk, const Counts& counts, const std::function<bool()>& lose = [] { return false; }) {
  EXPECT_EQ(desk.command(CommandCode::begin_playback, static_cast<std::uint32_t>(counts.size())), Reason::done);
  PlaybackState state = newest(desk.last_said).value_or(PlaybackState{});
  for (int turn = 0; turn < 20000 && state.phase != PlaybackPhase::over && state.phase != PlaybackPhase::stopped; ++turn) {
    const std::uint32_t room = state.accepted_to - state.received;
    if (room > 0 && !lose()) desk.send(piece(state.number, counts, state.received, std::min<std::uint32_t>(room, 128)));
    desk.run(5000);
    if (const auto heard = newest(desk.said())) state = *heard;
  }
  return state;
}

TEST(Playback, TheBoardsOwnDetectorAnswersAtTheSampleItShould) {
  FlightOnDesk desk;
  const PlaybackState state = play(desk, pulse());
  EXPECT_EQ(state.phase, PlaybackPhase::over);
  EXPECT_EQ(state.received, 1000U);
  EXPECT_EQ(state.played, 1000U);
  EXPECT_EQ(state.refused, 0U);
  ASSERT_EQ(state.changes.size(), 2U);
  EXPECT_EQ(state.changes[0].sample, 100U);
  EXPECT_EQ(state.changes[0].state, DetectorState::building);
  EXPECT_EQ(state.changes[1].sample, 115U);
  EXPECT_EQ(state.changes[1].state, DetectorState::decided);
  EXPECT_EQ(state.changes[1].node_time_us - state.changes[0].node_time_us, 15U * 500U) << "at the board's own rate";
}

TEST(Playback, NothingOfItCanBeTakenForARealTrial) {
  FlightOnDesk desk;
  ASSERT_EQ(desk.command(CommandCode::begin_playback, 1000), Reason::done);
  const auto number = newest(desk.last_said)->number;
  EXPECT_NE(number, 0U);
  const Counts counts = pulse();
  for (std::uint32_t first = 0; first < 512; first += 128) desk.send(piece(number, counts, first, 128));
  desk.said();
  desk.run(200000);
  const auto said = desk.said();
  for (const auto& state : all_of<FlightState>(said)) {
    EXPECT_EQ(state.playback, number);
    EXPECT_EQ(state.decision_count, 0U);
    EXPECT_EQ(state.decision_us, kNoTime);
  }
  EXPECT_FALSE(has_event(said, EventCode::detector_decided));
  EXPECT_FALSE(has_event(said, EventCode::detector_building));
  for (const auto& block : all_of<SampleBlock>(said))
    for (std::size_t i = 2; i < block.counts.size(); i += 3)
      EXPECT_EQ(block.counts[i], 100) << "live samples stay the accelerometer's";
  EXPECT_EQ(desk.command(CommandCode::begin_record, 5), Reason::wrong_step);
  EXPECT_EQ(desk.command(CommandCode::end_playback), Reason::done);
  desk.run(30000);
  EXPECT_EQ(all_of<FlightState>(desk.said()).back().playback, 0U);
  EXPECT_EQ(desk.command(CommandCode::begin_record, 5), Reason::done);
  EXPECT_EQ(desk.command(CommandCode::begin_playback, 10), Reason::wrong_step) << "not while a record is open";
}

TEST(Playback, IsRefusedUnlessEveryChannelIsOpenOrOnItsRegisteredDummyLoad) {
  cs_flight_config config = flight_config();
  config.dummy_low_milliohms[1] = 1900;
  config.dummy_high_milliohms[1] = 2100;
  struct Case {
    std::uint32_t first, second;
    bool armed, accepted;
  };
  for (const Case& c :
       {Case{CS_OHMS_OPEN, CS_OHMS_OPEN, false, true}, Case{CS_OHMS_OPEN, 2000, false, true},
        Case{CS_OHMS_OPEN, 1899, false, false}, Case{CS_OHMS_OPEN, 2101, false, false}, Case{2000, CS_OHMS_OPEN, false, false},
        Case{0, CS_OHMS_OPEN, false, false}, Case{CS_OHMS_OPEN, CS_OHMS_OPEN, true, false}}) {
    FlightOnDesk desk{config};
    desk.inputs = {c.armed, {c.first, c.second}, 7400};
    desk.run(5000);
    EXPECT_EQ(desk.command(CommandCode::begin_playback, 100), c.accepted ? Reason::done : Reason::firing_channel)
        << c.first << " " << c.second << " " << c.armed;
  }
}

TEST(Playback, StopsTheMomentAChannelIsNoLongerSafe) {
  FlightOnDesk desk;
  ASSERT_EQ(desk.command(CommandCode::begin_playback, 1000), Reason::done);
  const auto number = newest(desk.last_said)->number;
  desk.inputs.milliohms[0] = 1200;
  desk.run(1000);
  const auto state = newest(desk.said());
  ASSERT_TRUE(state);
  EXPECT_EQ(state->phase, PlaybackPhase::stopped);
  EXPECT_EQ(state->stop, PlaybackStop::firing_channel);
  desk.send(piece(number, pulse(), 0, 100));
  EXPECT_EQ(newest(desk.said())->refused, 100U);
}

TEST(Playback, NothingWasMeasuredYetNothingIsPlayed) {
  const cs_flight_config config = flight_config();
  auto flight = std::make_unique<cs_flight>();
  cs_flight_init(flight.get(), &config, 1000);
  std::vector<std::byte> bytes;
  Encoder encoder;
  encoder.append(Hello{.session = 1}, bytes);
  encoder.append(Command{7, CommandCode::begin_playback, 0, 100}, bytes);
  cs_flight_receive(flight.get(), 1500, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
  EXPECT_FALSE(cs_playback_active(&flight->playback));
}

TEST(Playback, ALineThatLosesFramesLosesNoSample) {
  std::mt19937 random{11};
  FlightOnDesk desk;
  for (int stimulus = 0; stimulus < 20; ++stimulus) {
    const PlaybackState state = play(desk, pulse(700), [&] { return random() % 3 == 0; });
    EXPECT_EQ(state.played, 700U);
    ASSERT_EQ(state.changes.size(), 2U);
    EXPECT_EQ(state.changes[1].sample, 115U);
    EXPECT_EQ(desk.command(CommandCode::end_playback), Reason::done);
  }
}

TEST(Playback, WhatIsOutOfOrderTwiceOrBeyondTheCreditIsRefusedAndCounted) {
  FlightOnDesk desk;
  const Counts counts = pulse();
  ASSERT_EQ(desk.command(CommandCode::begin_playback, 1000), Reason::done);
  const auto number = newest(desk.last_said)->number;
  desk.send(piece(number, counts, 128, 128));
  EXPECT_EQ(newest(desk.said())->refused, 128U) << "a gap";
  desk.send(piece(number, counts, 0, 128));
  desk.send(piece(number, counts, 0, 128));
  EXPECT_EQ(newest(desk.said())->refused, 256U) << "twice";
  desk.send(piece(number + 1, counts, 128, 10));
  EXPECT_EQ(newest(desk.said())->refused, 266U) << "of another playback";
  for (std::uint32_t first = 128; first < 512; first += 128) desk.send(piece(number, counts, first, 128));
  desk.send(piece(number, counts, 512, 128));
  const auto state = newest(desk.said());
  EXPECT_EQ(state->received, 512U);
  EXPECT_EQ(state->refused, 266U + 128U) << "beyond the credit";
}

TEST(Playback, AHostThatFallsSilentLeavesTheDetectorToTheAccelerometer) {
  FlightOnDesk desk;
  ASSERT_EQ(desk.command(CommandCode::begin_playback, 1000), Reason::done);
  desk.run(2100000);
  const auto state = newest(desk.said());
  EXPECT_EQ(state->phase, PlaybackPhase::stopped);
  EXPECT_EQ(state->stop, PlaybackStop::host_silent);
  desk.acceleration = [](std::uint64_t) { return std::int16_t{1100}; };
  desk.run(100000);
  EXPECT_TRUE(has_event(desk.said(), EventCode::detector_decided)) << "real again";
}

TEST(Playback, AStimulusLeavesNothingBehindInTheDetector) {
  FlightOnDesk desk;
  Counts loud(300, {0, 0, 480});  // 3.8 g net: never decides by itself
  for (int i = 0; i < 3; ++i) {
    const PlaybackState state = play(desk, loud);
    ASSERT_EQ(state.changes.size(), 1U);
    EXPECT_EQ(state.changes[0].sample, 0U);
    EXPECT_EQ(state.changes[0].state, DetectorState::building);
    EXPECT_EQ(desk.command(CommandCode::end_playback), Reason::done);
    EXPECT_EQ(desk.flight->detector.state, CS_DETECTOR_IDLE);
  }
}

}  // namespace
}  // namespace coldstroke::wire
