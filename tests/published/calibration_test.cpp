// SPDX-License-Identifier: GPL-3.0-or-later
//
// Calibration fits against the certified values of NIST's Statistical Reference Datasets, to nine significant digits.
#include "analysis/calibration/calibration.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "tests/published/check_values.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kNineDigits = 5.0e-10;  // half a unit of the ninth, relative

void expect_certified(const nlohmann::json& set, double computed, const std::string& name) {
  const double value = std::stod(set.at("certified").at(name).get<std::string>());
  published::expect_near(set, name, computed, value, kNineDigits * std::abs(value));
}

TEST(NistReferenceData, CalibrationCoefficientsToNineDigits) {
  const nlohmann::json file = published::load("calibration.json");
  ASSERT_EQ(file.at("sets").size(), 2U);
  for (const auto& set : file.at("sets")) {
    std::vector<CalibrationPoint> points;
    for (std::size_t i = 0; i < set.at("applied").size(); ++i)
      points.push_back({set.at("applied")[i].get<double>(), set.at("reading")[i].get<double>(), 0.0, 1, false});
    const auto& certified = set.at("certified");
    const auto form = certified.contains("B2") ? CalibrationForm::quadratic : CalibrationForm::line;
    const auto curve = CalibrationCurve::fit(points, form);
    ASSERT_TRUE(curve) << curve.error().what;
    for (std::size_t k = 0; k < (certified.contains("B2") ? 3U : 2U); ++k) {
      const std::string name = "B" + std::to_string(k);
      expect_certified(set, curve->coefficients()[k], name);
      expect_certified(set, curve->standard_errors()[k], "sd_" + name);
    }
    expect_certified(set, curve->residual_standard_deviation(), "residual_sd");
  }
}

}  // namespace
}  // namespace coldstroke::analysis
