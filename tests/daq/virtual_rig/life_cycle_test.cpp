// SPDX-License-Identifier: GPL-3.0-or-later
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "tests/daq/virtual_rig/bench_host.hpp"

namespace coldstroke::daq {
namespace {

using testing::DoubleNear;
using wire::CommandCode;
using wire::Reason;

TEST(VirtualRig, BothBoardsAnswerTheStartUpDialogue) {
  VirtualRig rig{Scenario{}, 1};
  BenchHost host{exchange_with(rig)};
  host.greet();
  const auto rig_identity = host.newest<wire::Identity>(Node::rig), flight_identity = host.newest<wire::Identity>(Node::flight);
  ASSERT_TRUE(rig_identity && flight_identity);
  EXPECT_EQ(rig_identity->kind, wire::NodeKind::rig_board);
  EXPECT_EQ(flight_identity->kind, wire::NodeKind::flight_board);
  EXPECT_EQ(rig_identity->session, 7U);
  const auto stream = host.newest<wire::StreamDescription>(Node::rig);
  ASSERT_TRUE(stream);
  EXPECT_EQ(stream->bits, 24);
  EXPECT_EQ(stream->period_ns, 100000U);
  ASSERT_EQ(stream->channels.size(), 4U);
  EXPECT_FLOAT_EQ(stream->channels[0].scale_hint, static_cast<float>(kForceScale));
  const auto flight_stream = host.newest<wire::StreamDescription>(Node::flight);
  ASSERT_TRUE(flight_stream);
  EXPECT_EQ(flight_stream->period_ns, 500000U);
  EXPECT_EQ(flight_stream->channels.size(), 3U);
  EXPECT_EQ(host.heard<wire::DetectorSetting>(Node::flight).size(), flight_identity->setting_count);
}

TEST(VirtualRig, EjectsTwiceAndPutsTheVehicleBackByItself) {
  VirtualRig rig{Scenario{}, 1};
  BenchHost host{exchange_with(rig)};
  for (int n = 1; n <= 2; ++n) {
    ASSERT_TRUE(host.eject(static_cast<std::uint32_t>(n)));
    const std::vector<EjectionTruth> truth = rig.take_truth();
    ASSERT_EQ(truth.size(), 1U);
    EXPECT_EQ(truth[0].story.number, n);
    EXPECT_EQ(truth[0].outcome(), "in_time");
    EXPECT_EQ(rig.physics().place(), Place::seated);
    EXPECT_TRUE(rig.physics().cable_connected());
  }
  for (const Node node : {Node::rig, Node::flight}) EXPECT_EQ(host.counts(node).fault(wire::FrameFault::bad_checksum), 0U);
  EXPECT_EQ(host.counts(Node::rig).fault(wire::FrameFault::lost), 0U);
}

TEST(VirtualRig, LosesTheFlightLinkAtSeparationAndTheBoardKeepsItsRecord) {
  VirtualRig rig{Scenario{}, 3};
  BenchHost host{exchange_with(rig)};
  host.prepare(5);
  ASSERT_TRUE(host.charge(8.0e5));
  ASSERT_EQ(host.release(), Reason::done);
  ASSERT_TRUE(host.run_until([&] { return !rig.physics().cable_connected(); }, 0.2));
  host.run_for(0.05);
  host.forget();
  host.run_for(1.0);
  EXPECT_TRUE(host.all(Node::flight).empty());
  EXPECT_FALSE(host.all(Node::rig).empty());
  host.vent();
  ASSERT_TRUE(host.run_until([&] { return rig.physics().cable_connected(); }, 15.0));
  host.run_for(0.5);
  host.greet();
  host.send(Node::flight, wire::MemoryRequest{wire::MemoryPart::summary, 0, 0});
  host.send(Node::flight, wire::MemoryRequest{wire::MemoryPart::decisions, 0, 0});
  host.run_for(0.3);
  const auto summary = host.newest<wire::MemorySummary>(Node::flight);
  const auto decision = host.newest<wire::MemoryDecision>(Node::flight);
  ASSERT_TRUE(summary && decision);
  EXPECT_EQ(summary->record_id, 5U);
  const std::vector<EjectionTruth> truth = rig.take_truth();
  ASSERT_EQ(truth.size(), 1U);
  const double bench = truth[0].story.decisions_seconds.at(0);
  const double node = truth[0].flight_offset_seconds + (1.0 + truth[0].flight_drift_ppm * 1.0e-6) * bench;
  EXPECT_NEAR(static_cast<double>(decision->node_time_us) * 1.0e-6, node, 2.0e-6);
}

TEST(VirtualRig, WhatTheBoardRememberedIsWhatItFelt) {
  VirtualRig rig{exact_scenario(), 3};
  BenchHost host{exchange_with(rig)};
  ASSERT_TRUE(host.eject(9));
  host.greet();
  ASSERT_EQ(host.command(Node::flight, CommandCode::end_record), Reason::done);
  host.send(Node::flight, wire::MemoryRequest{wire::MemoryPart::summary, 0, 0});
  host.run_for(0.1);
  const auto summary = host.newest<wire::MemorySummary>(Node::flight);
  ASSERT_TRUE(summary);
  host.forget();
  host.send(Node::flight, wire::MemoryRequest{wire::MemoryPart::samples, summary->first_index,
                                              static_cast<std::uint32_t>(summary->sample_count)});
  ASSERT_TRUE(host.run_until([&] { return host.newest<wire::MemoryEnd>(Node::flight).has_value(); }, 10.0));
  std::vector<double> felt;
  for (const auto& part : host.heard<wire::MemorySamples>(Node::flight))
    for (std::size_t i = 2; i < part.block.counts.size(); i += 3)
      felt.push_back(part.block.counts[i] * kAccelerationScale / 9.80665);
  ASSERT_EQ(felt.size(), summary->sample_count);
  const EjectionTruth truth = rig.take_truth().at(0);
  // Stroke and landing are both there: two blows, with weightlessness between them.
  EXPECT_NEAR(felt.front(), 1.0, 0.01);
  EXPECT_GT(*std::max_element(felt.begin(), felt.end()), 80.0);
  const auto over_40 = std::find_if(felt.begin(), felt.end(), [](double g) { return g > 40.0; });
  EXPECT_NEAR(*std::max_element(over_40, over_40 + 60), truth.peak_felt_g(), 0.02 * truth.peak_felt_g());
  EXPECT_NEAR(over_40[2000], 0.0, 0.05);
}

TEST(VirtualRig, ShowsWhatAReactionCellAndItsPistonStopShow) {
  VirtualRig rig{exact_scenario(), 1};
  BenchHost host{exchange_with(rig)};
  host.prepare(1);
  ASSERT_TRUE(host.charge(8.0e5));
  const std::vector<double> before = host.channel(Node::rig, 0, kForceScale);
  EXPECT_THAT(before, testing::Each(DoubleNear(0.0, 0.001)));  // gas in, piston held: nothing external acts
  host.forget();
  ASSERT_EQ(host.release(), Reason::done);
  host.run_for(0.3);
  const std::vector<double> force = host.channel(Node::rig, 0, kForceScale);
  const double blow = *std::min_element(force.begin(), force.end());
  const double expected = -0.1 * 14.5 * std::numbers::pi / (2.0 * 0.0015) - 1.5 * 9.80665;  // half sine of m_p v over 1.5 ms
  EXPECT_NEAR(blow, expected, 0.05 * std::abs(expected));
  EXPECT_NEAR(force.back(), -1.5 * 9.80665, 0.01);  // the vehicle's weight is gone from the tared cell
}

TEST(VirtualRig, VentsByItselfWithoutHeartbeat) {
  VirtualRig rig{exact_scenario(), 1};
  BenchHost host{exchange_with(rig)};
  host.prepare(1);
  ASSERT_TRUE(host.charge(4.0e5, 0.5));
  host.beating = false;
  const double from = static_cast<double>(host.now_us()) * 1.0e-6;
  ASSERT_TRUE(host.run_until(
      [&] {
        const auto state = host.newest<wire::RigState>(Node::rig);
        return state && (state->outputs & wire::kVentValve) != 0;
      },
      1.0));
  // The last beat may be 50 ms old; 250 ms after it the board acts at its next round, and its state is here within milliseconds.
  const double passed = static_cast<double>(host.now_us()) * 1.0e-6 - from;
  EXPECT_GT(passed, 0.195);
  EXPECT_LT(passed, 0.260);
  EXPECT_NE(host.newest<wire::RigState>(Node::rig)->faults & wire::kFaultWatchdog, 0);
  host.run_for(3.0);
  EXPECT_LT(rig.physics().loads().supply_pascals, 1000.0);
}

TEST(VirtualRig, KeepsItsVentOpenAndRefusesGasWithoutToken) {
  VirtualRig rig{Scenario{}, 1};
  BenchHost host{exchange_with(rig)};
  host.prepare(1);
  EXPECT_EQ(host.command(Node::rig, CommandCode::charge), Reason::no_token);
  EXPECT_EQ(host.command(Node::rig, CommandCode::charge, 0, 12345), Reason::no_token);
  host.run_for(0.2);
  EXPECT_LT(std::abs(rig.physics().loads().supply_pascals), 1.0);
}

TEST(VirtualRig, MovesItsLidAndTellsBySwitches) {
  VirtualRig rig{Scenario{}, 1};
  BenchHost host{exchange_with(rig)};
  host.prepare(1);
  EXPECT_NE(host.newest<wire::RigState>(Node::rig)->inputs & wire::kLidShutSwitch, 0);
  ASSERT_EQ(host.command(Node::rig, CommandCode::open_lid), Reason::done);
  host.run_for(0.4);
  EXPECT_EQ(host.newest<wire::RigState>(Node::rig)->inputs & (wire::kLidShutSwitch | wire::kLidOpenSwitch), 0);
  host.run_for(0.5);
  EXPECT_NE(host.newest<wire::RigState>(Node::rig)->inputs & wire::kLidOpenSwitch, 0);
  EXPECT_NE(host.newest<wire::RigState>(Node::rig)->readback & wire::kLidOpen, 0);
}

TEST(VirtualRig, SameSeedGivesTheSameBytesAndAnotherSeedOthers) {
  const auto bytes_of = [](std::uint64_t seed) {
    VirtualRig rig{Scenario{}, seed};
    BenchHost host{exchange_with(rig)};
    host.eject(1);
    std::vector<std::byte> all = host.raw[0];
    all.insert(all.end(), host.raw[1].begin(), host.raw[1].end());
    return std::pair{all, rig.take_truth().at(0).json()};
  };
  const auto first = bytes_of(42), again = bytes_of(42), other = bytes_of(43);
  EXPECT_EQ(first, again);
  EXPECT_NE(first.first, other.first);
  EXPECT_NE(first.second, other.second);
}

TEST(VirtualRig, ClockExchangeFindsTheTrueOffset) {
  Scenario scenario;
  scenario.boards.rig_drift_ppm = 40.0;
  VirtualRig rig{scenario, 8};
  BenchHost host{exchange_with(rig)};
  host.greet();
  double best_delay = 1.0, best_offset = 0.0, at = 0.0;
  for (std::uint32_t id = 1; id <= 50; ++id) {
    const std::int64_t t1 = host.now_us();
    host.send(Node::rig, wire::ClockRequest{id, t1});
    host.run_for(0.0203);  // not a multiple of the board's 2 ms blocks: a reply must not always wait behind one
    for (const auto& heard : host.all(Node::rig)) {
      const auto* reply = std::get_if<wire::ClockReply>(&heard.message);
      if (reply == nullptr || reply->id != id) continue;
      const double sent = static_cast<double>(reply->t1_us), back = static_cast<double>(heard.arrival_us);
      const double t2 = static_cast<double>(reply->t2_us), t3 = static_cast<double>(reply->t3_us);
      const double delay = ((back - sent) - (t3 - t2)) * 1.0e-6;
      if (delay >= best_delay) continue;
      best_delay = delay;
      best_offset = 0.5e-6 * ((t2 - sent) + (t3 - back));
      at = 0.5e-6 * (sent + back);
    }
  }
  ASSERT_LT(best_delay, 0.001);
  EXPECT_GT(best_delay, 0.0002);  // two latencies of at least 0.1 ms
  ASSERT_TRUE(host.charge(2.0e5, 0.1));
  host.release();
  host.run_for(0.2);
  const std::optional<EjectionTruth> truth = rig.unfinished_truth();
  ASSERT_TRUE(truth);
  EXPECT_NEAR(best_offset + at, truth->rig_seconds(at), best_delay / 2.0);
  EXPECT_NEAR(truth->rig_drift_ppm, 40.0, 1.0e-6);
}

TEST(VirtualRig, TruthIsOneLineOfJsonWithTheIssuesNames) {
  VirtualRig rig{Scenario{}, 4};
  BenchHost host{exchange_with(rig)};
  ASSERT_TRUE(host.eject(1));
  const std::string line = rig.take_truth().at(0).json();
  EXPECT_EQ(line.find('\n'), std::string::npos);
  const nlohmann::json truth = nlohmann::json::parse(line);
  for (const char* name : {"impulse_newton_seconds", "peak_force_newtons", "peak_acceleration_g", "mean_acceleration_g",
                           "stroke_time_seconds", "droop_pascals", "detector_latency_seconds", "exit_speed_mps",
                           "supply_fall_seconds", "chamber_rise_seconds", "valve_delay_seconds"})
    EXPECT_TRUE(truth.at(name).is_number()) << name;
  EXPECT_EQ(truth.at("ejection"), 1);
  EXPECT_EQ(truth.at("seed"), 4);
  EXPECT_EQ(truth.at("outcome"), "in_time");
}

TEST(VirtualRig, HangUpTakesThePortAwayUntilTheCableIsBack) {
  Scenario scenario;
  scenario.vehicle.hang_up = true;
  VirtualRig rig{scenario, 1};
  BenchHost host{exchange_with(rig)};
  host.prepare(1);
  ASSERT_TRUE(host.charge(8.0e5, 1.0));
  EXPECT_TRUE(host.port_up[1]);
  ASSERT_EQ(host.release(), Reason::done);
  host.run_for(0.3);
  EXPECT_FALSE(host.port_up[1]);
  EXPECT_TRUE(host.port_up[0]);
  host.vent();
  EXPECT_TRUE(host.run_until([&] { return host.port_up[1]; }, 15.0));
}

}  // namespace
}  // namespace coldstroke::daq
