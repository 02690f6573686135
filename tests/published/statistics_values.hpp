// SPDX-License-Identifier: GPL-3.0-or-later
//
// The check values of tests/published/data/statistics.json, and what its tests say about them.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "tests/published/check_values.hpp"

namespace coldstroke::published {

/// One case of the file.
inline nlohmann::json statistics_case(const std::string& id) {
  static const nlohmann::json file = load("statistics.json");
  return check(file, id);
}

inline std::vector<double> numbers(const nlohmann::json& list) { return list.get<std::vector<double>>(); }

/// Compares one number with the case's expectation by the case's tolerance; `wanted` is the number in `expected`.
inline void expect_published(const nlohmann::json& item, const std::string& name, double got, const nlohmann::json& wanted) {
  const auto& all = item.at("tolerance");
  const auto& tolerance = all.contains(name) ? all.at(name) : all;
  const double want = wanted.get<double>();
  expect_near(item, name, got, want, std::max(tolerance.value("abs", 0.0), tolerance.value("rel", 0.0) * std::abs(want)));
}
inline void expect_published(const nlohmann::json& item, const std::string& name, double got) {
  expect_published(item, name, got, item.at("expected").at(name));
}

/// Digits that agree with a certified value: -log10 of the relative error, 15 at most (NIST's measure).
inline double log_relative_error(double got, double certified) {
  if (got == certified) return 15.0;
  const double error = certified == 0.0 ? std::abs(got) : std::abs(got - certified) / std::abs(certified);
  return std::min(15.0, -std::log10(error));
}

}  // namespace coldstroke::published
