// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/units.hpp"

#include <gtest/gtest.h>

namespace coldstroke::daq {
namespace {

// NIST SP 811 (2008), appendix B.8: standard acceleration of free fall, pound-force, kilogram-force and psi.
TEST(Units, carry_the_factors_of_nist_sp_811) {
  EXPECT_EQ(to_si_factor(Dimension::acceleration, "g"), 9.80665);
  EXPECT_EQ(to_si_factor(Dimension::force, "kgf"), 9.80665);
  EXPECT_EQ(to_si_factor(Dimension::force, "lbf"), 4.4482216152605);
  EXPECT_EQ(to_si_factor(Dimension::force, "kN"), 1000.0);
  EXPECT_EQ(to_si_factor(Dimension::pressure, "psi"), 6894.757293168);
  EXPECT_EQ(to_si_factor(Dimension::pressure, "bar"), 1e5);
  EXPECT_EQ(to_si_factor(Dimension::pressure, "kPa"), 1e3);
  EXPECT_EQ(to_si_factor(Dimension::pressure, "MPa"), 1e6);
  EXPECT_EQ(to_si_factor(Dimension::time, "ms"), 1e-3);
  EXPECT_EQ(to_si_factor(Dimension::time, "us"), 1e-6);
  EXPECT_EQ(to_si_factor(Dimension::speed, "ft/s"), 0.3048);
}

// One pound-force on a square inch is one psi: the three printed factors must agree (inch = 0.0254 m, exact).
TEST(Units, pound_force_inch_and_psi_agree) {
  EXPECT_NEAR(*to_si_factor(Dimension::force, "lbf") / (0.0254 * 0.0254), *to_si_factor(Dimension::pressure, "psi"), 5e-10);
}

TEST(Units, a_unit_of_another_dimension_or_case_is_no_unit) {
  EXPECT_FALSE(to_si_factor(Dimension::force, "bar"));
  EXPECT_FALSE(to_si_factor(Dimension::pressure, "mPa"));
  EXPECT_FALSE(to_si_factor(Dimension::time, ""));
  EXPECT_EQ(unit_words(Dimension::time), "s, ms, us");
  EXPECT_EQ(unit_words(dimension(analysis::Quantity::temperature)), "K");
  EXPECT_EQ(si_word(Dimension::pressure), "Pa");
}

}  // namespace
}  // namespace coldstroke::daq
