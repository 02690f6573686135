// SPDX-License-Identifier: GPL-3.0-or-later
//
// Calibration fits against the certified values of NIST's Statistical Reference Datasets, to nine significant digits.
#include "analysis/calibration/calibration.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>

#include "tests/published/check_values.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kNineDigits = 5.0e-10;  // half a unit of the ninth, relative

void expect_certified(double computed, const nlohmann::json& certified, const char* name) {
  const double value = std::stod(certified.get<std::string>());
  const double relative = std::abs(computed / value - 1.0);
  std::printf("%-12s computed %.15g  certified %.15g  relative difference %.2g\n", name, computed, value, relative);
  EXPECT_LE(relative, kNineDigits) << name;
}

TEST(NistReferenceData, CalibrationCoefficientsToNineDigits) {
  const nlohmann::json file = published::load("calibration.json");
  ASSERT_EQ(file.at("sets").size(), 2U);
  for (const auto& set : file.at("sets")) {
    std::printf("%s\n", set.at("source").get<std::string>().c_str());
    std::vector<CalibrationPoint> points;
    for (std::size_t i = 0; i < set.at("applied").size(); ++i)
      points.push_back({set.at("applied")[i].get<double>(), set.at("reading")[i].get<double>(), 0.0, false});
    const auto& certified = set.at("certified");
    const auto form = certified.contains("B2") ? CalibrationForm::quadratic : CalibrationForm::line;
    const auto curve = CalibrationCurve::fit(points, form);
    ASSERT_TRUE(curve) << curve.error().what;
    for (std::size_t k = 0; k < (certified.contains("B2") ? 3U : 2U); ++k) {
      const std::string name = "B" + std::to_string(k);
      expect_certified(curve->coefficients()[k], certified.at(name), name.c_str());
      expect_certified(curve->standard_errors()[k], certified.at("sd_" + name), ("sd " + name).c_str());
    }
    expect_certified(curve->residual_standard_deviation(), certified.at("residual_sd"), "residual sd");
  }
}

}  // namespace
}  // namespace coldstroke::analysis
