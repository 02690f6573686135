// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/stream/clock.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <random>

#include "daq/stream/clock_alignment.hpp"

namespace coldstroke::daq {
namespace {

template <class A, class B>
concept Subtracts = requires(A a, B b) {
  a - b;
};
template <class A, class B>
concept Compares = requires(A a, B b) {
  a < b;
};
// The mistake must not compile: three clocks, three types.
static_assert(Subtracts<RigTime, RigTime>);
static_assert(!Subtracts<RigTime, FlightTime> && !Subtracts<RigTime, HostTime> && !Subtracts<FlightTime, HostTime>);
static_assert(!Compares<RigTime, FlightTime> && !Compares<FlightTime, HostTime>);
static_assert(!std::is_convertible_v<FlightTime, RigTime>);

/// A board's clock against the host's: zero and rate, and a line with a way out and back.
struct InventedBoard {
  double zero_us, rate_ppm;
  [[nodiscard]] double node_us(double host_us) const { return zero_us + host_us * (1.0 + rate_ppm * 1.0e-6); }
};

std::vector<ClockExchange> exchanges(const InventedBoard& board, std::mt19937_64& random, double way_out_us, double way_back_us) {
  std::uniform_real_distribution<double> jitter{0.0, 200.0};
  std::vector<ClockExchange> out;
  for (double t = 0.0; t < 20.0e6; t += 250.0e3) {
    const double there = t + way_out_us + jitter(random), answered = there + 50.0, back = answered + way_back_us + jitter(random);
    out.push_back({std::llround(t), static_cast<std::uint64_t>(std::llround(board.node_us(there))),
                   static_cast<std::uint64_t>(std::llround(board.node_us(answered))), std::llround(back)});
  }
  return out;
}

TEST(ClockAlignment, BringsAFlightInstantToTheBenchClockWithinItsUncertainty) {
  std::mt19937_64 random{20261125};
  std::uniform_real_distribution<double> way{50.0, 500.0}, ppm{-40.0, 40.0};
  int inside = 0;
  constexpr int kRuns = 400;
  for (int run = 0; run < kRuns; ++run) {
    const InventedBoard rig{3.0e9, ppm(random)}, flight{7.0e11, ppm(random)};
    const auto rig_exchanges = exchanges(rig, random, way(random), way(random));
    const auto flight_exchanges = exchanges(flight, random, way(random), way(random));
    const double host_us = 12.0e6;
    const auto origin = at_us<RigTime>(std::llround(rig.node_us(10.0e6)));
    const auto clocks = ClockAlignment::fit(rig_exchanges, flight_exchanges, origin);
    ASSERT_TRUE(clocks);
    const AlignedInstant at = clocks->to_bench(flight.node_us(host_us));
    const double truth = (rig.node_us(host_us) - static_cast<double>(us_of(origin))) * 1.0e-6;
    EXPECT_NEAR(at.bench_seconds, truth, 1.0e-3);
    inside += std::abs(at.bench_seconds - truth) <= 1.96 * at.standard_uncertainty_seconds ? 1 : 0;
    EXPECT_NEAR(clocks->flight_drift_ppm(), flight.rate_ppm, 30.0);
  }
  EXPECT_GT(inside, kRuns * 91 / 100);
}

TEST(ClockAlignment, SaysWhichBoardDidNotAnswer) {
  std::mt19937_64 random{1};
  const auto some = exchanges({0.0, 0.0}, random, 100.0, 100.0);
  const auto no_flight = ClockAlignment::fit(some, {}, RigTime{});
  ASSERT_FALSE(no_flight);
  EXPECT_NE(no_flight.error().what.find("flight board"), std::string::npos);
  const auto no_rig = ClockAlignment::fit({}, some, RigTime{});
  ASSERT_FALSE(no_rig);
  EXPECT_NE(no_rig.error().what.find("rig board"), std::string::npos);
}

TEST(AlignmentCache, FitsAnewOnlyWhenAnExchangeWasAdded) {
  std::mt19937_64 random{2};
  auto rig = exchanges({0.0, 5.0}, random, 100.0, 100.0), flight = exchanges({9.0e6, -5.0}, random, 100.0, 100.0);
  AlignmentCache cache;
  EXPECT_FALSE(cache.uncertainty(rig, {}));
  const auto first = cache.uncertainty(rig, flight);
  ASSERT_TRUE(first);
  EXPECT_EQ(cache.uncertainty(rig, flight), first);
  rig.pop_back();  // another newest exchange: another fit
  EXPECT_TRUE(cache.uncertainty(rig, flight));
}

TEST(ClockLimits, TakeTheBytesTimeOffOnlyWhereBytesHaveOne) {
  const analysis::ClockLimits usb = clock_limits({"", 921600, false, {}});
  EXPECT_EQ(usb.least_way_out_seconds, 0.0);
  EXPECT_EQ(usb.least_way_back_seconds, 0.0);
  EXPECT_FALSE(usb.asymmetry_standard_uncertainty_seconds);
  const analysis::ClockLimits slow = clock_limits({"", 9600, true, 0.05e-3}), fast = clock_limits({"", 96000, true, {}});
  // docs/wire.md: payloads of 12 and 28 bytes, 4 of header, 4 of check, one COBS code, one delimiter; ten bits each.
  EXPECT_NEAR(slow.least_way_out_seconds, 220.0 / 9600.0, 1.0e-9);
  EXPECT_NEAR(slow.least_way_back_seconds - slow.least_way_out_seconds, 160.0 / 9600.0, 1.0e-9);
  EXPECT_NEAR(slow.least_way_out_seconds, 10.0 * fast.least_way_out_seconds, 1.0e-9);
  EXPECT_EQ(slow.asymmetry_standard_uncertainty_seconds, 0.05e-3);
}

/// What the line and its adapters do to an instant brought from the flight board to the bench, and what is said of it.
struct Placed {
  double bias_us = 0.0, stated_us = 0.0;
  int held = 0, runs = 0;
};
Placed place_many(const PortSetup& port, bool say_so) {
  std::mt19937_64 random{77};
  std::uniform_real_distribution<double> way{50.0, 250.0}, ppm{-40.0, 40.0};
  const analysis::ClockLimits truth = clock_limits({"", port.baud, true, {}});
  const double out_us = truth.least_way_out_seconds * 1.0e6, back_us = truth.least_way_back_seconds * 1.0e6;
  Placed sum;
  sum.runs = 400;
  for (int run = 0; run < sum.runs; ++run) {
    const InventedBoard rig{3.0e9, ppm(random)}, flight{7.0e11, ppm(random)};
    // The rig board's line takes the bytes no time: the flight board's asymmetry is not hidden behind the same one.
    const auto rig_exchanges = exchanges(rig, random, way(random), way(random));
    const auto flight_exchanges = exchanges(flight, random, out_us + way(random), back_us + way(random));
    const auto origin = at_us<RigTime>(std::llround(rig.node_us(10.0e6)));
    LineKnowledge lines;
    if (say_so) {
      lines.rig = clock_limits({"", port.baud, false, port.asymmetry_standard_uncertainty_seconds});
      lines.flight = clock_limits(port);
    }
    const auto clocks = ClockAlignment::fit(rig_exchanges, flight_exchanges, origin, lines);
    const AlignedInstant at = clocks->to_bench(flight.node_us(12.0e6));
    const double error = at.bench_seconds - (rig.node_us(12.0e6) - static_cast<double>(us_of(origin))) * 1.0e-6;
    sum.bias_us += error * 1.0e6 / sum.runs;
    sum.stated_us += at.standard_uncertainty_seconds * 1.0e6 / sum.runs;
    sum.held += std::abs(error) <= 1.96 * at.standard_uncertainty_seconds ? 1 : 0;
  }
  return sum;
}

TEST(ClockAlignment, KnowledgeOfTheLineTakesTheBiasOutAndTellsTheTruthNineteenTimesOfTwenty) {
  const PortSetup port{"", 921600, true, 0.2e-3 / std::sqrt(24.0)};
  const Placed known = place_many(port, true), unknown = place_many(port, false);
  std::printf("line known: bias %.1f us, stated %.1f us, held %d of %d; unknown: %.1f, %.1f, %d\n", known.bias_us,
              known.stated_us, known.held, known.runs, unknown.bias_us, unknown.stated_us, unknown.held);
  EXPECT_LT(std::abs(known.bias_us), 10.0);
  // 16 bytes more on the way back than out, half of their time.
  EXPECT_NEAR(std::abs(unknown.bias_us), 0.5 * 160.0 / 0.9216, 10.0);
  EXPECT_GE(known.held, known.runs * 91 / 100);
  EXPECT_LE(known.held, known.runs * 99 / 100);
  EXPECT_GE(unknown.held, known.held) << "the bound must still hold";
  EXPECT_LT(known.stated_us, 0.5 * unknown.stated_us);
}

}  // namespace
}  // namespace coldstroke::daq
