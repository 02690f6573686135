// SPDX-License-Identifier: GPL-3.0-or-later
//
// Faults of lines, boards' identities, clocks and supplies: what each does is there on the wire, and is not there without it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "tests/daq/virtual_rig/faulty_bench.hpp"

namespace coldstroke::daq {
namespace {

using wire::CommandCode;
using wire::FrameFault;
using wire::Reason;

TEST(VirtualRigFault, LostFramesAreMissedByNumber) {
  Bench bench{{"lost_frames,probability=0.05"}};
  bench.host.greet();
  bench.host.run_for(2.0);
  EXPECT_GT(bench.host.counts(Node::rig).fault(FrameFault::lost), 10U);
  EXPECT_EQ(bench.host.counts(Node::rig).fault(FrameFault::bad_checksum), 0U);
  EXPECT_EQ(bench.host.counts(Node::flight).fault(FrameFault::lost), 0U);
}

TEST(VirtualRigFault, GarbageBytesDamageFramesAndTheStreamGoesOn) {
  Bench bench{{"garbage_bytes,node=flight,bursts_per_second=20"}};
  bench.host.greet();
  bench.host.run_for(2.0);
  const wire::LineCounts& counts = bench.host.counts(Node::flight);
  EXPECT_GT(counts.fault(FrameFault::bad_checksum) + counts.fault(FrameFault::bad_stuffing) + counts.fault(FrameFault::too_short),
            10U);
  EXPECT_GT(bench.host.heard<wire::SampleBlock>(Node::flight).size(), 300U);
  EXPECT_EQ(bench.host.counts(Node::rig).fault(FrameFault::bad_checksum), 0U);
}

TEST(VirtualRigFault, FlippedBitsAreCaughtByTheChecksum) {
  Bench bench{{"bit_flips,probability=0.0005"}};
  bench.host.greet();
  bench.host.run_for(2.0);
  EXPECT_GT(bench.host.counts(Node::rig).fault(FrameFault::bad_checksum), 20U);
}

TEST(VirtualRigFault, FlippedBitsToTheBoardLeaveCommandsUnanswered) {
  Bench bench{{"bit_flips,probability=0.5,direction=to_board"}};
  bench.host.greet();
  EXPECT_FALSE(bench.host.newest<wire::Identity>(Node::rig));
  EXPECT_TRUE(bench.host.newest<wire::Identity>(Node::flight));
}

TEST(VirtualRigFault, RigLinkDropSilencesBothWaysAndTheBoardVents) {
  Bench bench{{"rig_link_drop,step=charging,after_seconds=0.5,lasting_seconds=1"}};
  bench.host.prepare(1);
  ASSERT_EQ(bench.host.command_with_token(CommandCode::charge), Reason::done);
  bench.host.run_for(0.6);
  bench.host.forget();
  bench.host.run_for(0.7);
  EXPECT_TRUE(bench.host.all(Node::rig).empty());
  bench.host.run_for(1.0);
  ASSERT_FALSE(bench.host.all(Node::rig).empty());
  EXPECT_NE(bench.rig_state().faults & wire::kFaultWatchdog, 0);
  EXPECT_NE(bench.rig_state().outputs & wire::kVentValve, 0);
}

TEST(VirtualRigFault, LinkDropAtSeparationComesEvenIfTheCableWouldStay) {
  Scenario staying = exact_scenario();
  staying.vehicle.cable_drops = false;
  for (const bool faulty : {false, true}) {
    Bench bench{faulty ? std::vector<std::string>{"link_drop_at_separation"} : std::vector<std::string>{}, staying};
    bench.stroke();
    bench.host.forget();
    bench.host.run_for(0.3);
    EXPECT_EQ(bench.host.all(Node::flight).empty(), faulty);
  }
}

TEST(VirtualRigFault, SilentBoardAnswersNothing) {
  Bench bench{{"board_silent"}};
  bench.host.greet();
  EXPECT_TRUE(bench.host.all(Node::flight).empty());
  EXPECT_TRUE(bench.host.newest<wire::Identity>(Node::rig));
}

TEST(VirtualRigFault, SwappedBoardsNameThemselves) {
  Bench bench{{"boards_swapped"}};
  bench.host.greet();
  EXPECT_EQ(bench.host.newest<wire::Identity>(Node::rig)->kind, wire::NodeKind::flight_board);
  EXPECT_EQ(bench.host.newest<wire::Identity>(Node::flight)->kind, wire::NodeKind::rig_board);
}

TEST(VirtualRigFault, NewerMajorVersionIsInTheIdentity) {
  Bench bench{{"protocol_newer_major"}};
  bench.host.greet();
  EXPECT_EQ(bench.host.newest<wire::Identity>(Node::flight)->protocol_major, wire::kProtocolMajor + 1);
  EXPECT_EQ(bench.host.newest<wire::Identity>(Node::rig)->protocol_major, wire::kProtocolMajor);
  EXPECT_EQ(bench.host.counts(Node::flight).fault(FrameFault::bad_checksum), 0U);
  EXPECT_EQ(bench.host.counts(Node::flight).fault(FrameFault::lost), 0U);
}

TEST(VirtualRigFault, WrongFirmwareIsInTheIdentity) {
  Bench bench{{"wrong_firmware_identity,version=0.9.1"}};
  bench.host.greet();
  EXPECT_EQ(bench.host.newest<wire::Identity>(Node::flight)->firmware_version, "0.9.1");
  EXPECT_EQ(bench.host.newest<wire::Identity>(Node::rig)->firmware_version, "1.0.0");
}

TEST(VirtualRigFault, ClockJumpMovesTimeButNotTheSampleNumber) {
  Bench bench{{"clock_jump,after_seconds=0.5,jump_seconds=5"}};
  bench.host.greet();
  bench.host.run_for(1.0);
  const auto blocks = bench.host.heard<wire::SampleBlock>(Node::flight);
  int jumps = 0;
  for (std::size_t i = 1; i < blocks.size(); ++i) {
    EXPECT_EQ(blocks[i].first_index, blocks[i - 1].first_index + 10);
    const auto step = static_cast<std::int64_t>(blocks[i].node_time_us - blocks[i - 1].node_time_us);
    if (std::llabs(step - 5'005'000) < 5)
      ++jumps;
    else
      EXPECT_NEAR(static_cast<double>(step), 5000.0, 2.0);
  }
  EXPECT_EQ(jumps, 1);
}

TEST(VirtualRigFault, BrownOutLosesTheRecordAndStartsTheClockAnew) {
  Bench bench{{"brown_out_reset,after_seconds=1"}};
  bench.host.prepare(77);
  bench.host.run_for(0.3);
  EXPECT_EQ(bench.flight_state().record_id, 77U);
  bench.host.run_for(1.0);
  EXPECT_EQ(bench.flight_state().record_id, 0U);
  EXPECT_EQ(bench.flight_state().reset_count, 2U);
  EXPECT_LT(bench.flight_state().node_time_us, 500000U);
}

TEST(VirtualRigFault, BrownOutOfTheRigBoardVents) {
  Bench bench{{"brown_out_reset,node=rig,step=charging,after_seconds=1,off_seconds=0.05"}};
  bench.host.prepare(1);
  ASSERT_EQ(bench.host.command_with_token(CommandCode::charge), Reason::done);
  bench.host.run_for(0.9);
  EXPECT_GT(bench.supply(), 1.0e5);
  bench.host.run_for(2.5);
  EXPECT_LT(bench.supply(), 0.05e5);
  EXPECT_EQ(bench.rig_state().boot_count, 2U);
}

}  // namespace
}  // namespace coldstroke::daq
