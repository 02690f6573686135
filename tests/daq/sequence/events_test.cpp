// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/sequence/events.hpp"

#include <gtest/gtest.h>

#include "analysis/pneumatics/blowdown.hpp"

namespace coldstroke::daq {
namespace {

auto invented_setup() {
  auto setup = parse_setup(virtual_setup_text(), "built-in");
  EXPECT_TRUE(setup) << setup.error().what;
  return *setup;
}

double healthy_seconds(const Setup& setup, double from, double to) {
  return analysis::isothermal_blowdown_seconds(
      {setup.reservoir_volume_m3, setup.vent.conductance_m3_per_s_pa, setup.vent.critical_ratio}, 101325.0 + from, 101325.0 + to);
}

TEST(VentDown, AHealthyVentIsNeverSlowAndOneTwiceAsSlowAlwaysIs) {
  const auto setup = invented_setup();
  for (double gauge = 7.5e5; gauge > setup.sequence.vented_below_pascals; gauge -= 0.5e5) {
    const double healthy = healthy_seconds(setup, 8.0e5, gauge);
    EXPECT_FALSE(vent_is_slow({healthy, 8.0e5}, gauge, setup)) << gauge;
    EXPECT_FALSE(vent_is_slow({1.49 * healthy + kVentAllowanceSeconds, 8.0e5}, gauge, setup)) << gauge;
    EXPECT_TRUE(vent_is_slow({1.51 * healthy + kVentAllowanceSeconds, 8.0e5}, gauge, setup)) << gauge;
  }
  EXPECT_FALSE(vent_is_slow({1000.0, 8.0e5}, 0.99 * setup.sequence.vented_below_pascals, setup));
}

TEST(VentDown, TheTimeScalesWithTheVolumeAndTheVent) {
  auto setup = invented_setup();
  const VentDown vent_down{1.0, 8.0e5};
  EXPECT_TRUE(vent_is_slow(vent_down, 6.5e5, setup));
  setup.reservoir_volume_m3 *= 10.0;
  EXPECT_FALSE(vent_is_slow(vent_down, 6.5e5, setup));
  setup.vent.conductance_m3_per_s_pa *= 10.0;
  EXPECT_TRUE(vent_is_slow(vent_down, 6.5e5, setup));
}

TEST(VentDown, ABlockedVentIsFoundWithinTheAllowance) {
  const auto setup = invented_setup();
  EXPECT_FALSE(vent_is_slow({kVentAllowanceSeconds, 8.0e5}, 8.0e5, setup));
  EXPECT_TRUE(vent_is_slow({kVentAllowanceSeconds + 0.01, 8.0e5}, 8.0e5, setup));
}

TEST(Events, NothingKnownUnderPressureIsAnInterlockLost) {
  const auto setup = invented_setup();
  for (const Step step : {Step::charging, Step::settling, Step::counting, Step::releasing})
    EXPECT_EQ(event_in(step, Readings{}, setup), SequenceEvent::interlock_lost) << word(step);
  for (const Step step :
       {Step::idle, Step::checks, Step::venting, Step::aborting, Step::review, Step::keep_clear, Step::locked_out})
    EXPECT_EQ(event_in(step, Readings{}, setup), std::nullopt) << word(step);
}

TEST(Events, PressureAtStartGoesStraightToVenting) {
  const auto setup = invented_setup();
  Readings r;
  r.pressure_age = 0.01;
  r.pressure_pascals = 1.0e5;
  EXPECT_EQ(event_in(Step::idle, r, setup), SequenceEvent::found_pressurised);
  EXPECT_EQ(transition(Step::idle, SequenceEvent::found_pressurised)->to, Step::venting);
  EXPECT_EQ(event_in(Step::review, r, setup), SequenceEvent::found_pressurised);
}

}  // namespace
}  // namespace coldstroke::daq
