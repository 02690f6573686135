// SPDX-License-Identifier: GPL-3.0-or-later
//
// Ready scalings of industrial transducers in the setup, and what their signal says of the wire.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "daq/setup/setup.hpp"

namespace coldstroke::daq {
namespace {

using analysis::WireState;
using testing::HasSubstr;

/// The virtual rig's setup with another supply pressure channel: `transducer` in place of scale and zero.
Result<Setup> with(const std::string& transducer, const std::string& calibration = "") {
  std::string text{virtual_setup_text()};
  const auto channel = text.find("name = \"supply\"");
  EXPECT_NE(channel, std::string::npos);
  const auto heading = text.find("[channel.calibration]", channel);
  const auto scale = text.find("scale_per_count", heading);
  const auto after = text.find("gain_standard_uncertainty", heading);
  text.replace(scale, after - scale, calibration);
  text.insert(heading, transducer);
  return parse_setup(text, "bench.toml");
}

const std::string kLoop =
    "[channel.transducer]\nsignal = \"current_loop\"\ncounts_per_milliampere = 1000.0\nno_signal_counts = 50\nspan_low = 0.0\n"
    "span_high = 16.0\n\n";

const ChannelSetup& supply(const Result<Setup>& setup) { return *setup->channel(analysis::Role::supply_pressure); }

TEST(Transducer, ACurrentLoopScalesByItsNameplateAndKnowsABrokenWire) {
  const auto setup = with(kLoop);
  ASSERT_TRUE(setup) << setup.error().what << setup.error().where;
  const ChannelSetup& channel = supply(setup);
  const auto at = [&](double milliamperes) { return channel.calibration.si(50.0 + 1000.0 * milliamperes); };
  EXPECT_NEAR(at(4.0), 0.0, 1.0e-6);
  EXPECT_NEAR(at(12.0), 8.0e5, 1.0e-6);
  EXPECT_NEAR(at(20.0), 16.0e5, 1.0e-6);
  EXPECT_EQ(channel.wire(at(3.5)), WireState::broken);
  EXPECT_EQ(channel.wire(at(3.7)), WireState::below_range);
  EXPECT_EQ(channel.wire(at(4.0)), WireState::good);
  EXPECT_EQ(channel.wire(at(20.6)), WireState::above_range);
  EXPECT_EQ(channel.wire(at(21.5)), WireState::shorted);
  EXPECT_EQ(channel.calibration.span, (analysis::CalibratedSpan{0.0, 16.0e5}));
  EXPECT_GE(channel.range_low, at(3.8) - 1.0) << "outside its signal it counts as saturated, whatever range is written";
  EXPECT_LE(channel.range_high, at(20.5) + 1.0);
}

TEST(Transducer, ARatiometricOneScalesByItsSupply) {
  const auto setup =
      with("[channel.transducer]\nsignal = \"ratiometric\"\ncounts_at_supply = 10000.0\nspan_low = -1.0\nspan_high = 15.0\n\n");
  ASSERT_TRUE(setup) << setup.error().what << setup.error().where;
  const ChannelSetup& channel = supply(setup);
  EXPECT_NEAR(channel.calibration.si(1000.0), -1.0e5, 1.0e-6);
  EXPECT_NEAR(channel.calibration.si(5000.0), 7.0e5, 1.0e-6);
  EXPECT_NEAR(channel.calibration.si(9000.0), 15.0e5, 1.0e-6);
  EXPECT_EQ(channel.wire(channel.calibration.si(400.0)), WireState::broken);
  EXPECT_EQ(channel.wire(channel.calibration.si(9600.0)), WireState::shorted);
}

TEST(Transducer, AMeasuredCalibrationGoesBeforeTheNameplateAndTheWireIsStillWatched) {
  const auto setup = with(kLoop, "scale_per_count = 0.0011\nzero_counts = 4100\n");
  ASSERT_TRUE(setup) << setup.error().what << setup.error().where;
  const ChannelSetup& channel = supply(setup);
  EXPECT_NEAR(channel.calibration.si(5100.0), 1.1e5, 1.0e-6);
  EXPECT_FALSE(channel.calibration.span);
  EXPECT_EQ(channel.wire(channel.calibration.si(3000.0)), WireState::broken);
}

TEST(Transducer, AChannelWithoutOneSaysNothingOfItsWire) {
  const auto setup = parse_setup(virtual_setup_text(), "virtual");
  ASSERT_TRUE(setup);
  EXPECT_EQ(supply(setup).wire(-1.0e9), WireState::good);
}

TEST(Transducer, BadOnesAreRefusedByKey) {
  const auto complaint = [](const auto& setup) { return setup ? std::string{} : setup.error().what + setup.error().where; };
  EXPECT_THAT(complaint(with("[channel.transducer]\nsignal = \"voltage\"\ncounts_per_milliampere = 1\nspan_low = 0\n"
                             "span_high = 1\n")),
              HasSubstr("transducer.signal"));
  EXPECT_THAT(complaint(with("[channel.transducer]\nsignal = \"ratiometric\"\ncounts_at_supply = 0\nspan_low = 0\n"
                             "span_high = 16\n")),
              HasSubstr("counts_at_supply"));
  EXPECT_THAT(complaint(with("[channel.transducer]\nsignal = \"ratiometric\"\ncounts_per_milliampere = 5\nspan_low = 0\n"
                             "span_high = 16\n")),
              HasSubstr("counts_per_milliampere"));
  EXPECT_THAT(complaint(with("[channel.transducer]\nsignal = \"current_loop\"\ncounts_per_milliampere = 5\nspan_low = 16\n"
                             "span_high = 16\n")),
              HasSubstr("span_high"));
  EXPECT_THAT(complaint(with("")), HasSubstr("scale_per_count")) << "without a transducer nothing else scales";
  EXPECT_THAT(complaint(with(kLoop, "zero_counts = 5\n")), HasSubstr("scale_per_count")) << "half a scaling is none";
  EXPECT_THAT(complaint(with(kLoop, "calibrated_low = 1.0\n")), HasSubstr("calibrated_high"));
}

}  // namespace
}  // namespace coldstroke::daq
