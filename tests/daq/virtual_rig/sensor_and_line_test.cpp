// SPDX-License-Identifier: GPL-3.0-or-later
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "daq/virtual_rig/lockstep.hpp"
#include "daq/virtual_rig/node_clock.hpp"
#include "daq/virtual_rig/sensor_bank.hpp"
#include "tests/daq/virtual_rig/bench_host.hpp"

namespace coldstroke::daq {
namespace {

TEST(FirstOrderLag, AnswersAStepAsTheClosedForm) {
  FirstOrderLag lag{100.0};
  const double tau = 1.0 / (2.0 * std::numbers::pi * 100.0);
  double value = 0.0;
  for (int i = 0; i < 10; ++i) value = lag.follow(1.0, 1.0, tau / 10.0);
  EXPECT_NEAR(value, 1.0 - std::exp(-1.0), 1.0e-12);
}

TEST(SecondOrderLag, OvershootsAsTheClosedFormWhateverTheStep) {
  for (const double zeta : {0.05, 0.2, 0.6}) {
    for (const double step : {1.0e-6, 2.0e-5}) {
      SecondOrderLag cell{1000.0, zeta};
      double peak = 0.0;
      for (double t = 0.0; t < 0.003; t += step) peak = std::max(peak, cell.follow(1.0, 1.0, step));
      // Published: overshoot e^(-pi zeta / sqrt(1 - zeta^2)), e.g. 0.8545 at 0.05 and 0.5266 at 0.2.
      EXPECT_NEAR(peak, 1.0 + std::exp(-std::numbers::pi * zeta / std::sqrt(1.0 - zeta * zeta)), step > 1.0e-5 ? 0.01 : 1.0e-4);
    }
  }
}

TEST(SecondOrderLag, LagsARampByItsSteadyAmount) {
  SecondOrderLag cell{1000.0, 0.6};
  double value = 0.0;
  for (int i = 0; i < 1000; ++i) value = cell.follow(i * 0.1, (i + 1) * 0.1, 1.0e-4);
  EXPECT_NEAR(value, 100.0 - 1000.0 * 2.0 * 0.6 / (2.0 * std::numbers::pi * 1000.0), 1.0e-9);
}

TEST(SensorBank, DrawsGainAndZeroFromTheDeclaredUncertainties) {
  Scenario scenario = exact_scenario();
  scenario.force.gain_standard_uncertainty = 0.003;
  scenario.force.zero_standard_uncertainty = 0.3;
  double gain_square = 0.0, zero_square = 0.0;
  constexpr int kSeeds = 400;
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    SensorBank bank{scenario, seed};
    const double zero = bank.rig_counts(0.0)[0] * kForceScale;
    LoadRun run;
    run.end = 0.1;
    run.from.force_newtons = run.to.force_newtons = 1000.0;
    bank.follow({run}, 0.0);
    const double gain = (bank.rig_counts(0.1)[0] * kForceScale - zero) / 1000.0 - 1.0;
    gain_square += gain * gain;
    zero_square += zero * zero;
  }
  // Standard deviation of a standard deviation from 400 draws: 1 / sqrt(800) = 3.5 %; four of them.
  EXPECT_NEAR(std::sqrt(gain_square / kSeeds), 0.003, 0.14 * 0.003);
  EXPECT_NEAR(std::sqrt(zero_square / kSeeds), 0.3, 0.14 * 0.3);
}

TEST(SensorBank, SaturatesAtItsRange) {
  SensorBank bank{exact_scenario(), 1};
  LoadRun run;
  run.end = 0.1;
  run.from.force_newtons = run.to.force_newtons = -5000.0;
  run.from.felt_mps2[2] = run.to.felt_mps2[2] = 5000.0;
  bank.follow({run}, 50.0);
  EXPECT_EQ(bank.rig_counts(0.1)[0], -8388608);
  EXPECT_EQ(bank.rig_counts(0.1)[3], 8388607);
  EXPECT_EQ(bank.flight_counts(0.1)[2], 32767);
}

TEST(LineToHost, TakesItsTimeAndKeepsTheOrder) {
  Scenario::Line latency;
  LineToHost line{100000.0, latency, 1, 20};  // 0.1 ms a byte
  cs_line ring{};
  constexpr int kBytes = 2000;
  for (int i = 0; i < kBytes; ++i) ring.bytes[ring.head++] = static_cast<std::uint8_t>(i % 251);
  std::vector<std::byte> all;
  std::int64_t last = 0;
  for (std::int64_t ns = 0; ns <= 300'000'000; ns += 100'000) {
    line.pump(ring, ns);
    for (const StampedBytes& chunk : line.take(ns / 1000)) {
      EXPECT_GE(chunk.arrival_us, last);
      last = chunk.arrival_us;
      all.insert(all.end(), chunk.bytes.begin(), chunk.bytes.end());
      // Nothing arrives before it could have left and travelled.
      EXPECT_GE(chunk.arrival_us, static_cast<std::int64_t>(all.size()) * 100 + 50 - 1);
    }
  }
  ASSERT_EQ(all.size(), static_cast<std::size_t>(kBytes));
  for (int i = 0; i < kBytes; ++i) ASSERT_EQ(std::to_integer<int>(all[static_cast<std::size_t>(i)]), i % 251);
  EXPECT_LT(last, 200'000 + 400 + 1000 + 200);
}

TEST(NodeClock, DriftsJumpsAndNeverGoesBackByItself) {
  NodeClock clock{1'000'000, 50.0, 0};
  EXPECT_EQ(clock.read(0), 1'000'000U);
  EXPECT_EQ(clock.read(100'000'000'000), 101'005'000U);
  EXPECT_EQ(clock.read(99'999'999'000), 101'005'000U);
  EXPECT_NEAR(static_cast<double>(clock.sample_ns(10000, 100000)), 1.0e9 / 1.00005, 1.0);
  clock.jump(-2'000'000);
  EXPECT_EQ(clock.read(100'000'000'000), 100'005'000U);
}

TEST(Lockstep, MessagesSurviveTheirBytes) {
  LockstepRequest request{123456789, {std::vector<std::byte>(300, std::byte{7}), {std::byte{1}}}};
  LockstepReply reply;
  reply.now_us = -1;
  reply.chunks = {{Node::flight, {99, {std::byte{0}, std::byte{255}}}}, {Node::rig, {100, {}}}};
  reply.port_up = {true, false};
  const auto source_of = [](const std::vector<std::byte>& bytes, std::size_t& at) {
    return [&bytes, &at](std::span<std::byte> into) -> Result<bool> {
      if (at == bytes.size()) return false;
      if (bytes.size() - at < into.size()) return complain("ended", "test", "");
      std::copy_n(bytes.begin() + static_cast<std::ptrdiff_t>(at), into.size(), into.begin());
      at += into.size();
      return true;
    };
  };
  std::size_t at = 0;
  LockstepRequest request_back;
  const std::vector<std::byte> request_bytes = encode(request);
  ASSERT_TRUE(read(source_of(request_bytes, at), request_back).value());
  EXPECT_EQ(request_back, request);
  at = 0;
  LockstepReply reply_back;
  const std::vector<std::byte> reply_bytes = encode(reply);
  ASSERT_TRUE(read(source_of(reply_bytes, at), reply_back).value());
  EXPECT_EQ(reply_back, reply);
  // Cut anywhere inside, it is a complaint; a length beyond the limit as well.
  for (std::size_t cut = 1; cut < reply_bytes.size(); ++cut) {
    const std::vector<std::byte> part(reply_bytes.begin(), reply_bytes.begin() + static_cast<std::ptrdiff_t>(cut));
    at = 0;
    EXPECT_FALSE(read(source_of(part, at), reply_back)) << cut;
  }
  std::vector<std::byte> huge = request_bytes;
  huge[11] = std::byte{0xFF};
  at = 0;
  EXPECT_FALSE(read(source_of(huge, at), request_back));
}

}  // namespace
}  // namespace coldstroke::daq
