// SPDX-License-Identifier: GPL-3.0-or-later
//
// Recording without gas from the virtual rig's flight board: its own samples, its own count, and what is refused.
#include "daq/bench/quiet_recording.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <QCoreApplication>
#include <numeric>

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;

VirtualRigProgram program() { return {COLDSTROKE_PROGRAM, {"virtual"}}; }

Setup virtual_setup() { return parse_setup(virtual_setup_text(), "virtual").value(); }

Result<analysis::Recording> record(const std::vector<std::string>& faults, const QuietProgress& progress = {},
                                   double seconds = 1.5) {
  VirtualRigOptions options;
  options.faults = faults;
  return record_quietly(virtual_setup(), options, true, {"on the bench", analysis::Event::tube_knock, seconds}, progress,
                        program());
}

TEST(QuietRecording, HoldsAsManySamplesAsWereAskedForByTheBoardsOwnCount) {
  double told = 0.0;
  const auto made = record({}, [&told](double seconds) {
    EXPECT_GE(seconds, told);
    told = seconds;
    return true;
  });
  ASSERT_TRUE(made) << made.error().what;
  const auto& z = made->along(analysis::Axis::z);
  EXPECT_EQ(static_cast<double>(z.size()), 1.5 * made->sample_rate_hz);
  EXPECT_NEAR(std::accumulate(z.begin(), z.end(), 0.0) / static_cast<double>(z.size()), 9.80665, 1.5)
      << "it lies still, and its zero is off by what the scenario sets";
  EXPECT_EQ(made->label, analysis::Label::must_stay_silent);
  EXPECT_EQ(made->event, analysis::Event::tube_knock);
  EXPECT_EQ(made->provenance, analysis::Provenance::synthesised) << "a virtual rig is no evidence about a vehicle";
  EXPECT_THAT(made->source, HasSubstr("recorded without gas from "));
  EXPECT_GT(told, 1.0);
}

TEST(QuietRecording, TheSameBoardGivesTheSameSamples) {
  const auto first = record({}), second = record({});
  ASSERT_TRUE(first && second);
  EXPECT_EQ(first->axes, second->axes);
}

TEST(QuietRecording, AStopKeepsNothing) {
  const auto made = record({}, [](double seconds) { return seconds < 0.5; });
  ASSERT_FALSE(made);
  EXPECT_THAT(made.error().what, HasSubstr("stopped by the person"));
}

TEST(QuietRecording, AGapAResetAndASilentBoardAreSaid) {
  for (const auto& [fault, words] :
       {std::pair{"lost_frames,node=flight,probability=0.2", "samples of the vehicle's acceleration are missing"},
        std::pair{"brown_out_reset,after_seconds=1.0", "reset"}, std::pair{"board_silent,node=flight", "no board answers"},
        std::pair{"protocol_newer_major,node=flight", "the board speaks protocol"}}) {
    const auto made = record({fault});
    ASSERT_FALSE(made) << fault;
    EXPECT_THAT(made.error().what, HasSubstr(words)) << fault;
  }
}

TEST(QuietRecording, ASetupWithoutTheChannelAndALengthThatIsNoneAreRefused) {
  daq::Setup setup = virtual_setup();
  for (ChannelSetup& channel : setup.channels)
    if (channel.role == analysis::Role::vehicle_acceleration) channel.role = analysis::Role::other;
  EXPECT_FALSE(record_quietly(setup, {}, true, {"x", analysis::Event::other, 1.0}, {}, program()));
  EXPECT_FALSE(record({}, {}, 0.0));
  EXPECT_FALSE(record({}, {}, 1.0e9));
}

TEST(QuietRecording, OverAPseudoTerminalInRealTimeNoSampleIsLost) {
  int argc = 1;
  std::string name = "quiet";
  char* argv[2] = {name.data(), nullptr};
  const QCoreApplication application{argc, argv};  // the port's thread has an event loop
  auto rig = VirtualRigProcess::start_real_time({}, program());
  ASSERT_TRUE(rig) << rig.error().what;
  daq::Setup setup = virtual_setup();
  setup.flight_port = {rig->flight_port(), 921600};
  const auto made = record_quietly(setup, {"carried", analysis::Event::carrying, 0.5});
  ASSERT_TRUE(made) << made.error().what;
  EXPECT_EQ(static_cast<double>(made->along(analysis::Axis::z).size()), 0.5 * made->sample_rate_hz);
  EXPECT_EQ(made->provenance, analysis::Provenance::bench);
}

}  // namespace
}  // namespace coldstroke::daq
