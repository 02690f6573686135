// SPDX-License-Identifier: GPL-3.0-or-later
//
// The channel frequency class against SAE J211-1 appendix C and what follows from it (tests/published/data/signals.json).
#include "analysis/signal/cfc.hpp"

#include <gtest/gtest.h>

#include <boost/math/constants/constants.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <numeric>

#include "tests/published/check_values.hpp"

namespace coldstroke::analysis {
namespace {

using nlohmann::json;
constexpr double kPi = boost::math::constants::pi<double>();

const json& file() { return published::loaded("signals.json"); }

TEST(Cfc, CoefficientsAreThePrintedOnes) {
  int seen = 0;
  for (const auto& item : file().at("checks")) {
    if (!item.at("id").get<std::string>().starts_with("cfc-coef-")) continue;
    const auto& in = item.at("inputs");
    const double factor = in.at("factor").get<double>(), period = in.at("T_s").get<double>();
    const auto c = cfc_coefficients(*cfc_class(in.at("cfc").get<long>()), period, factor);
    ASSERT_TRUE(c) << item.at("id");
    const auto& want = item.at("expected");
    const double tolerance = item.at("tolerance").at("abs").get<double>();
    published::expect_near(item, "a0", c->a0, want.at("a0"), tolerance);
    published::expect_near(item, "a1", c->a1, want.at("a1"), tolerance);
    published::expect_near(item, "a2", c->a2, want.at("a2"), tolerance);
    published::expect_near(item, "b1", c->b1, want.at("b1"), tolerance);
    published::expect_near(item, "b2", c->b2, want.at("b2"), tolerance);
    ++seen;
  }
  EXPECT_EQ(seen, 8);
}

TEST(Cfc, GainsAreThePrintedOnesAndTheFilterHasThem) {
  int seen = 0;
  for (const auto& item : file().at("checks")) {
    if (!item.at("id").get<std::string>().starts_with("cfc-gain-")) continue;
    const auto& in = item.at("inputs");
    const double period = in.at("T_s").get<double>();
    const CfcClass filter = *cfc_class(in.at("cfc").get<long>());
    for (std::size_t i = 0; i < in.at("f_Hz").size(); ++i) {
      const double f = in.at("f_Hz")[i].get<double>(), decibel = item.at("expected").at("gain_dB")[i].get<double>();
      published::expect_near(item, "dB at " + std::to_string(std::lround(f)) + " Hz",
                             20.0 * std::log10(cfc_gain(filter, period, f)), decibel, item.at("tolerance").at("abs"));
      if (decibel < -40.0) continue;
      // A long sine through the filter itself, its middle fitted for the amplitude.
      std::vector<double> x(static_cast<std::size_t>(std::lround(std::max(2.0, 20.0 / f) / period)));
      for (std::size_t k = 0; k < x.size(); ++k) x[k] = std::sin(2.0 * kPi * f * period * static_cast<double>(k));
      const auto y = cfc_filtered(x, period, filter);
      ASSERT_TRUE(y);
      double xy = 0.0, xx = 0.0;
      for (std::size_t k = x.size() / 4; k < 3 * x.size() / 4; ++k) xy += x[k] * (*y)[k], xx += x[k] * x[k];
      EXPECT_NEAR(xy / xx, std::pow(10.0, decibel / 20.0), 2.0e-3) << static_cast<int>(filter) << " at " << f;
    }
    ++seen;
  }
  EXPECT_EQ(seen, 4);
}

TEST(Cfc, CornerIsWhereStated) {
  const json item = published::check(file(), "cfc-f3db-10k");
  for (std::size_t i = 0; i < 4; ++i) {
    const CfcClass filter = *cfc_class(item.at("inputs").at("cfc")[i].get<long>());
    std::uintmax_t tries = 100;
    const auto root = boost::math::tools::toms748_solve([&](double f) { return cfc_gain(filter, 1.0e-4, f) - std::sqrt(0.5); },
                                                        10.0, 4000.0, boost::math::tools::eps_tolerance<double>(40), tries);
    published::expect_near(item, "-3 dB, Hz, " + std::to_string(i), root.first, item.at("expected").at("f3dB_Hz")[i], 0.01);
  }
}

TEST(Cfc, HalfSinePeaksAndTheirAreaComeOutAsStated) {
  const json item = published::check(file(), "cfc-halfsine-peak");
  for (const auto& [length, peaks] : item.at("expected").at("peak_g").items()) {
    const double duration = std::stod(length);
    std::vector<double> x(8000, 0.0);
    for (std::size_t k = 0; k < x.size(); ++k) {
      const double t = (static_cast<double>(k) - 4000.0) * 1.0e-4;
      if (t > 0.0 && t < duration) x[k] = 50.0 * std::sin(kPi * t / duration);
    }
    for (std::size_t i = 0; i < 4; ++i) {
      const auto y = cfc_filtered(x, 1.0e-4, *cfc_class(item.at("inputs").at("cfc")[i].get<long>()));
      ASSERT_TRUE(y);
      EXPECT_NEAR(*std::max_element(y->begin(), y->end()), peaks[i].get<double>(), 0.002) << length << ' ' << i;
      const double before = std::accumulate(x.begin(), x.end(), 0.0), after = std::accumulate(y->begin(), y->end(), 0.0);
      EXPECT_NEAR(after / before, 1.0, 1.0e-6);
    }
  }
}

TEST(Cfc, AnEdgeSmearsBackwardsAsStatedSoNoInstantIsReadFromIt) {
  const json item = published::check(file(), "cfc-step-smear");
  constexpr double kPeriod = 1.0e-5;
  std::vector<double> x(6001, 0.0);
  std::fill(x.begin() + 3000, x.end(), 1.0);
  for (std::size_t i = 0; i < 4; ++i) {
    const auto y = cfc_filtered(x, kPeriod, *cfc_class(item.at("inputs").at("cfc")[i].get<long>()));
    ASSERT_TRUE(y);
    const auto reaches = [&](double level) {
      std::size_t k = 3000;
      while ((*y)[k - 1] > level) --k;  // back from the edge: earlier the answer swings through zero
      const double part = (level - (*y)[k - 1]) / ((*y)[k] - (*y)[k - 1]);
      return (static_cast<double>(k) - 1.0 + part - 2999.5) * kPeriod * 1.0e3;
    };
    EXPECT_NEAR(reaches(0.01), item.at("expected").at("t_1pct_ms")[i].get<double>(), 0.02);
    EXPECT_NEAR(reaches(0.10), item.at("expected").at("t_10pct_ms")[i].get<double>(), 0.02);
    const double overshoot = (*std::max_element(y->begin(), y->end()) - 1.0) * 100.0;
    EXPECT_NEAR(overshoot, item.at("expected").at("overshoot_pct").get<double>(), 0.02);
  }
}

TEST(Cfc, ConstantsAndSlopesPassUnchanged) {
  for (const CfcClass filter : {CfcClass::cfc_180, CfcClass::cfc_600, CfcClass::cfc_1000}) {
    std::vector<double> constant(200, 9.80665), slope(200);
    for (std::size_t i = 0; i < slope.size(); ++i) slope[i] = 0.01 * static_cast<double>(i);
    for (const auto& x : {constant, slope}) {
      const auto y = cfc_filtered(x, 1.0e-4, filter);
      ASSERT_TRUE(y);
      for (std::size_t i = 0; i < x.size(); ++i) EXPECT_NEAR((*y)[i], x[i], 1.0e-6) << static_cast<int>(filter) << ' ' << i;
    }
  }
}

TEST(Cfc, RatesThatAClassDoesNotAllowAreRefused) {
  const json item = published::check(file(), "cfc-rate-guard");
  const std::vector<double> x(100, 1.0);
  for (std::size_t r = 0; r < item.at("inputs").at("fs_Hz").size(); ++r)
    for (std::size_t c = 0; c < 4; ++c) {
      const double rate = item.at("inputs").at("fs_Hz")[r].get<double>();
      const CfcClass filter = *cfc_class(item.at("inputs").at("cfc")[c].get<long>());
      EXPECT_EQ(cfc_filtered(x, 1.0 / rate, filter).has_value(), item.at("expected").at("accept")[r][c].get<bool>())
          << rate << " Hz, CFC " << static_cast<int>(filter);
    }
  EXPECT_FALSE(cfc_class(100));
  EXPECT_FALSE(cfc_filtered(x, 0.0, CfcClass::cfc_60));
  EXPECT_FALSE(cfc_filtered(x, NAN, CfcClass::cfc_60));
  EXPECT_FALSE(cfc_filtered(std::vector<double>{1.0, 2.0}, 1.0e-4, CfcClass::cfc_60));
}

TEST(Cfc, StartUpRuleOfAppendixC) {
  const json item = published::check(file(), "cfc-j211-startup-vector");
  const auto x = item.at("inputs").at("x").get<std::vector<double>>();
  const auto c = cfc_coefficients(CfcClass::cfc_180, 1.0e-4);
  ASSERT_TRUE(c);
  std::vector<double> pass = cfc_pass(x, *c);
  const auto forward = item.at("expected").at("forward").get<std::vector<double>>();
  const auto both = item.at("expected").at("forward_backward").get<std::vector<double>>();
  for (std::size_t i = 0; i < x.size(); ++i) EXPECT_NEAR(pass[i], forward[i], 1.0e-8) << i;
  std::reverse(pass.begin(), pass.end());
  pass = cfc_pass(pass, *c);
  std::reverse(pass.begin(), pass.end());
  for (std::size_t i = 0; i < x.size(); ++i) EXPECT_NEAR(pass[i], both[i], 1.0e-8) << i;
}

TEST(Cfc, TheUsualMistakeIsNotMade) {
  const json item = published::check(file(), "cfc-common-mistake");
  EXPECT_NEAR(20.0 * std::log10(cfc_gain(CfcClass::cfc_180, 1.0e-4, 300.0)),
              item.at("expected").at("correct_gain_dB").get<double>(), 0.002);
}

}  // namespace
}  // namespace coldstroke::analysis
