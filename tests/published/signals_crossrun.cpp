// SPDX-License-Identifier: GPL-3.0-or-later
//
// Works out the cases that scipy_signals_crossrun.py puts on standard input, one JSON object a line, and answers one a line.
#include <iostream>
#include <nlohmann/json.hpp>
#include <string>

#include "analysis/calibration/calibration.hpp"
#include "analysis/signal/cfc.hpp"
#include "analysis/signal/integrate.hpp"

namespace {

using nlohmann::json;
using namespace coldstroke::analysis;

json filtered(const json& item) {
  const auto filter = cfc_class(item.at("cfc").get<long>());
  const auto y = cfc_filtered(item.at("x").get<std::vector<double>>(), item.at("period").get<double>(), filter.value());
  return y ? json(*y) : json(nullptr);
}

json fitted(const json& item) {
  std::vector<CalibrationPoint> points;
  for (std::size_t i = 0; i < item.at("applied").size(); ++i)
    points.push_back({item.at("applied")[i].get<double>(), item.at("reading")[i].get<double>(), 0.0, false});
  const auto curve = CalibrationCurve::fit(points, item.at("degree") == 2 ? CalibrationForm::quadratic : CalibrationForm::line);
  if (!curve) return nullptr;
  return {{"coefficients", curve->coefficients()},
          {"standard_errors", curve->standard_errors()},
          {"residual_sd", curve->residual_standard_deviation()},
          {"back", curve->applied_for(item.at("back").get<double>())->value}};
}

}  // namespace

int main() {
  for (std::string line; std::getline(std::cin, line);) {
    const json item = json::parse(line);
    const std::string kind = item.at("kind").get<std::string>();
    if (kind == "cfc") std::cout << filtered(item).dump() << '\n';
    if (kind == "trapezoid")
      std::cout << json(trapezoid(item.at("x").get<std::vector<double>>(), item.at("period").get<double>())).dump() << '\n';
    if (kind == "fit") std::cout << fitted(item).dump() << '\n';
  }
}
