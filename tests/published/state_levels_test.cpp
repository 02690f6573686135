// SPDX-License-Identifier: GPL-3.0-or-later
//
// State levels and transitions (IEEE Std 181) against the stated histogram case and the closed forms of standard edges
// (tests/published/data/signals.json names each source).
#include "analysis/signal/state_levels.hpp"

#include <gtest/gtest.h>

#include <boost/math/constants/constants.hpp>
#include <cmath>
#include <functional>
#include <vector>

#include "tests/published/check_values.hpp"

namespace coldstroke::analysis {
namespace {

using nlohmann::json;
using published::check;
using published::expect_near;

const json& file() { return published::loaded("signals.json"); }

TEST(StateLevels, ARampBetweenTwoStatesHasTheStatedLevelsAndDuration) {
  const json item = check(file(), "trans-ramp-histogram");
  std::vector<double> x(60, 0.0);
  for (int i = 0; i <= 10; ++i) x.push_back(0.1 * i);
  x.insert(x.end(), 60, 1.0);
  const auto levels = state_levels(x, 100);
  ASSERT_TRUE(levels);
  expect_near(item, "lower level", levels->low, 0.005, 1.0e-12);
  expect_near(item, "upper level", levels->high, 0.995, 1.0e-12);
  const auto change = first_transition(x, *levels);
  ASSERT_TRUE(change);
  EXPECT_TRUE(change->rising);
  expect_near(item, "10 to 90 %, samples", change->duration(), 7.92, 1.0e-9);
  expect_near(item, "middle, samples", change->at_50, 65.0, 1.0e-9);
  const auto true_levels = first_transition(x, {0.0, 1.0});
  ASSERT_TRUE(true_levels);
  expect_near(item, "10 to 90 % of the true levels, samples", true_levels->duration(), 8.0, 1.0e-9);
}

TEST(StateLevels, StandardEdgesHaveTheirClosedFormDurations) {
  const json item = check(file(), "trans-analytic");
  const double pi = boost::math::constants::pi<double>();
  const std::array<std::function<double(double)>, 4> edges{
      [](double t) { return std::clamp(t, 0.0, 1.0); }, [](double t) { return t > 0.0 ? -std::expm1(-t) : 0.0; },
      [pi](double t) { return 0.5 - 0.5 * std::cos(pi * std::clamp(t, 0.0, 1.0)); },
      [](double t) { return 0.5 * std::erfc(-t / std::sqrt(2.0)); }};
  constexpr double kStep = 1.0e-3, kFrom = -8.0;  // straight lines at this step, and six printed digits: 2e-6
  for (std::size_t k = 0; k < edges.size(); ++k) {
    const std::string edge = item.at("inputs").at("edge")[k];
    for (const bool falling : {false, true}) {
      std::vector<double> x;
      for (int i = 0; i < 40000; ++i) x.push_back(falling ? 1.0 - edges[k](kFrom + kStep * i) : edges[k](kFrom + kStep * i));
      const auto change = first_transition(x, {0.0, 1.0});
      ASSERT_TRUE(change) << edge;
      EXPECT_EQ(change->rising, !falling);
      const std::string name = edge + (falling ? ", falling" : "");
      expect_near(item, name + ", 10 to 90 %", kStep * change->duration(), item.at("expected").at("dur")[k], 2.0e-6);
      expect_near(item, name + ", middle", kFrom + kStep * change->at_50, item.at("expected").at("mid_instant")[k], 2.0e-6);
    }
  }
}

TEST(StateLevels, ABlowDownOfAReservoirIsFoundUnderNoise) {
  // Seven bar until the vent opens, an exponential to nothing: levels within a bin and the closed form ln 9 of its time constant.
  std::vector<double> x;
  for (int i = 0; i < 20000; ++i) {
    const double t = 1.0e-3 * (i - 5000), noise = 200.0 * (((7919 * i) % 1009) / 1009.0 - 0.5);
    x.push_back(7.0e5 * (t > 0.0 ? std::exp(-t / 0.4) : 1.0) + noise);
  }
  const auto levels = state_levels(x);
  ASSERT_TRUE(levels);
  EXPECT_NEAR(levels->high, 7.0e5, 7.0e3);
  EXPECT_NEAR(levels->low, 0.0, 7.0e3);
  const auto change = first_transition(x, *levels);
  ASSERT_TRUE(change);
  EXPECT_FALSE(change->rising);
  EXPECT_NEAR(1.0e-3 * change->duration(), 0.4 * std::log(9.0), 0.03);
}

TEST(StateLevels, WhatHasNoTwoStatesHasNoAnswer) {
  EXPECT_FALSE(state_levels(std::vector<double>{1.0}));
  EXPECT_FALSE(state_levels(std::vector<double>(50, 2.0)));
  EXPECT_FALSE(state_levels(std::vector<double>{0.0, NAN, 1.0}));
  EXPECT_FALSE(state_levels(std::vector<double>{0.0, 1.0}, 1));
  EXPECT_FALSE(first_transition(std::vector<double>{0.0, 0.2, 0.4, 0.6}, {0.0, 1.0}));
  EXPECT_FALSE(first_transition(std::vector<double>{0.0, 1.0}, {1.0, 0.0}));
}

}  // namespace
}  // namespace coldstroke::analysis
