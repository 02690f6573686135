// SPDX-License-Identifier: GPL-3.0-or-later
//
// The host's session against the board's own C code, over a line that a test may spoil.
#include "daq/playback/playback_session.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>
#include <random>

#include "daq/playback/playback_report.hpp"
#include "tests/protocol/board/flight_on_desk.hpp"

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;
using wire::FlightOnDesk;

Stimulus pulse(const std::string& name, int net_counts, std::size_t samples = 900) {
  Stimulus out{name, std::vector<std::array<std::int16_t, 3>>(samples, {0, 0, 100})};
  for (std::size_t k = 100; k < 200; ++k) out.counts[k][2] = static_cast<std::int16_t>(100 + net_counts);
  return out;
}

struct Desk {
  std::unique_ptr<FlightOnDesk> board = std::make_unique<FlightOnDesk>(wire::flight_config(), false);
  PlaybackSession session{77};
  std::function<bool()> lose_to_board = [] { return false; }, lose_to_host = [] { return false; };
  std::function<void(int turn)> meddle = [](int) {};

  void turn(int number) {
    meddle(number);
    for (const wire::Message& message : session.due(now()))
      if (!lose_to_board()) board->send(message);
    board->run(4000);
    for (const wire::Message& message : board->said())
      if (!lose_to_host()) session.receive(message, now());
  }
  void play(std::vector<Stimulus> stimuli) {
    for (int i = 0; i < 2000 && !session.claims() && !session.finished(); ++i) turn(-1);
    session.play(std::move(stimuli));
    for (int i = 0; i < 40000 && !session.finished(); ++i) turn(i);
    EXPECT_TRUE(session.finished());
  }
  [[nodiscard]] std::int64_t now() const { return static_cast<std::int64_t>(board->now_us + reset_us); }
  std::uint64_t reset_us = 0;
};

TEST(PlaybackSession, PlaysAListUnattendedAndTellsEachAnswer) {
  Desk desk;
  desk.play({pulse("strong", 1000), pulse("weak", 300), pulse("strong again", 1000)});
  ASSERT_FALSE(desk.session.complaint()) << desk.session.complaint()->what;
  const auto& answers = desk.session.answers();
  for (const StimulusAnswer& answer : answers) {
    EXPECT_TRUE(answer.complete) << answer.trouble;
    EXPECT_EQ(answer.played, 900U);
    EXPECT_EQ(answer.refused, 0U);
    EXPECT_EQ(answer.starved, 0U);
    EXPECT_EQ(answer.attempts, 1);
  }
  EXPECT_EQ(answers[0].changes.back().sample_index, 115U);
  EXPECT_EQ(answers[2].changes, answers[0].changes);
  EXPECT_EQ(answers[1].changes.size(), 1U) << "building, never decided";
  EXPECT_EQ(desk.board->flight->decision_count, 0U);
}

TEST(PlaybackSession, ALossyLineCostsTimeAndNoSample) {
  for (unsigned seed = 1; seed <= 8; ++seed) {
    std::mt19937 random{seed};
    Desk desk;
    desk.lose_to_board = [&random] { return random() % 5 == 0; };
    desk.lose_to_host = [&random] { return random() % 5 == 0; };
    desk.play({pulse("a", 1000), pulse("b", 300), pulse("c", 1000)});
    ASSERT_FALSE(desk.session.complaint()) << seed << desk.session.complaint()->what;
    for (const StimulusAnswer& answer : desk.session.answers()) {
      EXPECT_TRUE(answer.complete) << seed << ": " << answer.trouble;
      EXPECT_EQ(answer.played, answer.sent);
    }
    EXPECT_EQ(desk.session.answers()[2].changes.back().sample_index, 115U);
  }
}

TEST(PlaybackSession, ABoardThatResetsMidwayIsAFindingAndTheStimulusIsPlayedAgain) {
  Desk desk;
  desk.meddle = [&desk](int turn) {
    if (turn != 30) return;
    auto config = wire::flight_config();
    config.identity.boot_count = 6;
    cs_flight_init(desk.board->flight.get(), &config, desk.board->now_us);
  };
  desk.play({pulse("first", 1000), pulse("second", 1000)});
  ASSERT_FALSE(desk.session.complaint()) << desk.session.complaint()->what;
  const auto& answers = desk.session.answers();
  EXPECT_EQ(answers[0].resets, 1);
  EXPECT_EQ(answers[0].attempts, 2);
  EXPECT_TRUE(answers[0].complete) << answers[0].trouble;
  EXPECT_EQ(answers[0].changes.back().sample_index, 115U);
  EXPECT_TRUE(answers[1].complete);
}

TEST(PlaybackSession, AnIgniterOnAChannelRefusesItAll) {
  Desk desk;
  desk.board->inputs.milliohms[0] = 1200;
  desk.play({pulse("first", 1000)});
  ASSERT_TRUE(desk.session.complaint());
  EXPECT_THAT(desk.session.complaint()->what, HasSubstr("channel 1 1200 milliohm"));
  EXPECT_FALSE(desk.session.answers()[0].complete);
}

TEST(PlaybackSession, AChannelThatClosesMidwayStopsItAll) {
  Desk desk;
  desk.meddle = [&desk](int turn) {
    if (turn == 30) desk.board->inputs.milliohms[1] = 2000;
  };
  desk.play({pulse("first", 1000), pulse("second", 1000)});
  ASSERT_TRUE(desk.session.complaint());
  EXPECT_THAT(desk.session.complaint()->what, HasSubstr("stopped"));
  EXPECT_FALSE(desk.session.answers()[0].complete);
  EXPECT_FALSE(desk.session.answers()[1].complete);
}

TEST(PlaybackSession, ABoardThatFallsSilentIsSaidAndWhatWasPlayedIsKept) {
  Desk desk;
  desk.meddle = [&desk](int) {
    if (desk.session.at() == 1) desk.board->cable = false;
  };
  desk.play({pulse("first", 1000), pulse("second", 1000)});
  ASSERT_TRUE(desk.session.complaint());
  EXPECT_THAT(desk.session.complaint()->what, HasSubstr("silent"));
  EXPECT_TRUE(desk.session.answers()[0].complete);
  EXPECT_FALSE(desk.session.answers()[1].complete);
}

analysis::DetectorSpec desk_spec() {
  analysis::DetectorSpec spec;
  spec.name = "desk";
  spec.window_samples = 40;
  spec.threshold_g = 4.0;
  spec.building_g = 1.5;
  spec.board = {2000.0, 16, 327.68};  // 100 counts a g
  return spec;
}

TEST(PlaybackReport, FirmwareThatDiffersFromWhatItClaimsIsAFinding) {
  Desk desk;
  PlaybackRun run;
  run.stimuli = {pulse("strong", 1000), pulse("between", 450)};
  desk.play(run.stimuli);
  run.answers = desk.session.answers();
  const auto agreeing = playback_report(run, desk_spec());
  ASSERT_TRUE(agreeing) << agreeing.error().what;
  EXPECT_EQ(agreeing->agreeing, 2U);
  EXPECT_EQ(agreeing->samples_compared, 1800U);
  EXPECT_EQ(agreeing->samples_lost, 0U);
  EXPECT_THAT(agreeing->findings, testing::IsEmpty());
  analysis::DetectorSpec other = desk_spec();
  other.threshold_g = 5.0;
  const auto differing = playback_report(run, other);
  ASSERT_TRUE(differing);
  EXPECT_EQ(differing->agreeing, 0U);
  ASSERT_EQ(differing->findings.size(), 2U);
  EXPECT_EQ(differing->findings[0].kind, "firmware_differs");
  EXPECT_THAT(sentence(*differing), HasSubstr("agree in 0 of 2"));
}

}  // namespace
}  // namespace coldstroke::daq
