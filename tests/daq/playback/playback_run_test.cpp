// SPDX-License-Identifier: GPL-3.0-or-later
//
// Playback to the virtual rig's flight board: its real board code in a process of its own, in lock-step and over a
// pseudo-terminal.
#include "daq/playback/playback_run.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <QCoreApplication>

#include "analysis/detector/synthesise.hpp"
#include "daq/playback/playback_report.hpp"

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;

VirtualRigProgram program() { return {COLDSTROKE_PROGRAM, {"virtual"}}; }

StimulusMaker maker(std::size_t must_fire, std::size_t each_silent, std::uint64_t seed) {
  return [=](const BoardClaims& claims) -> Result<std::vector<Stimulus>> {
    analysis::Scene scene;
    scene.quiet_seconds = scene.tail_seconds = 0.05;
    scene.seed = seed;
    const auto library = analysis::synthetic_library(must_fire, each_silent, scene);
    if (!library) return tl::unexpected{library.error()};
    return stimuli_of(*library, claims);
  };
}

/// The port's thread has an event loop, and Qt wants an application before any.
struct EventLoops {
  int argc = 1;
  std::string name = "playback";
  char* argv[2] = {name.data(), nullptr};
  QCoreApplication application{argc, argv};
};

PlaybackReport report_of(const PlaybackRun& run) {
  const auto spec = claimed_detector(run.claims);
  EXPECT_TRUE(spec) << spec.error().what;
  const auto report = playback_report(run, *spec);
  EXPECT_TRUE(report) << report.error().what;
  return *report;
}

TEST(PlaybackRun, TheBoardAndTheReplayAgreeSampleBySample) {
  for (const char* scenario : {"steady", "long_window", "touchy"}) {
    VirtualRigOptions options;
    options.scenario = scenario;
    auto rig = VirtualRigProcess::start_lockstep(options, program());
    ASSERT_TRUE(rig) << rig.error().what;
    const auto run = play_in_lockstep(*rig, maker(12, 1, 5));
    ASSERT_TRUE(run) << run.error().what;
    ASSERT_FALSE(run->ended_early) << run->ended_early->what;
    const PlaybackReport report = report_of(*run);
    EXPECT_EQ(report.played, 20U) << scenario;
    EXPECT_EQ(report.agreeing, 20U) << scenario << ": " << (report.findings.empty() ? "" : report.findings[0].message);
    EXPECT_EQ(report.samples_lost, 0U);
    EXPECT_EQ(report.decided > 0, scenario != std::string{"long_window"}) << scenario << ": this window outlasts every pulse";
    EXPECT_EQ(report.samples_compared, report.samples_sent);
  }
}

TEST(PlaybackRun, OverAPseudoTerminalInRealTimeNoSampleIsLost) {
  const EventLoops application;
  auto rig = VirtualRigProcess::start_real_time({}, program());
  ASSERT_TRUE(rig) << rig.error().what;
  const auto run = play_over_port({rig->flight_port(), 921600}, [](const BoardClaims& claims) -> Result<std::vector<Stimulus>> {
    std::vector<analysis::Recording> recordings;
    for (int i = 0; i < 4; ++i) {
      analysis::Scene scene;
      scene.quiet_seconds = 0.05;
      scene.tail_seconds = 0.05;
      scene.seed = static_cast<std::uint64_t>(i) + 1;
      analysis::PulseParameters pulse;
      pulse.peak_g = 3.0 + 4.0 * i;
      pulse.fall_seconds = 0.2;
      recordings.push_back(*analysis::synthesise_pulse("pulse " + std::to_string(i), pulse, scene));
    }
    return stimuli_of(recordings, claims);
  });
  ASSERT_TRUE(run) << run.error().what;
  ASSERT_FALSE(run->ended_early) << run->ended_early->what;
  const PlaybackReport report = report_of(*run);
  EXPECT_EQ(report.played, 4U);
  EXPECT_EQ(report.agreeing, 4U) << (report.findings.empty() ? "" : report.findings[0].message);
  EXPECT_EQ(report.samples_lost, 0U);
}

TEST(PlaybackRun, APortWithoutABoardIsSaid) {
  const EventLoops application;
  const auto run = play_over_port({"/dev/no-such-port", 921600}, maker(1, 1, 1));
  ASSERT_FALSE(run);
  EXPECT_THAT(run.error().where + run.error().what, HasSubstr("no-such-port"));
}

TEST(PlaybackRun, AnArmedBoardRefuses) {
  VirtualRigOptions options;
  options.faults = {"armed_board"};
  auto rig = VirtualRigProcess::start_lockstep(options, program());
  ASSERT_TRUE(rig) << rig.error().what;
  const auto run = play_in_lockstep(*rig, maker(1, 1, 1));
  ASSERT_TRUE(run) << run.error().what;
  ASSERT_TRUE(run->ended_early);
  EXPECT_THAT(run->ended_early->what, HasSubstr("arm switch closed"));
}

}  // namespace
}  // namespace coldstroke::daq
