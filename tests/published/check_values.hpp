// SPDX-License-Identifier: GPL-3.0-or-later
//
// Check values from outside the project, read from tests/published/data. Each case names its source.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>

namespace coldstroke::published {

/// The file `name` of tests/published/data.
inline nlohmann::json load(const std::string& name) {
  std::ifstream file{std::string{COLDSTROKE_SOURCE_DIR} + "/tests/published/data/" + name};
  if (!file) throw std::runtime_error{"cannot open tests/published/data/" + name};
  return nlohmann::json::parse(file);
}

/// One case of it, by id.
inline nlohmann::json check(const nlohmann::json& file, const std::string& id) {
  for (const auto& item : file.at("checks"))
    if (item.at("id") == id) return item;
  throw std::runtime_error{"no case " + id};
}

/// Largest allowed difference for one expected number: absolute and relative tolerance of the case, whichever is wider;
/// an entry named like the number overrides both.
inline double allowed(const nlohmann::json& item, const std::string& name) {
  const auto& tolerance = item.at("tolerance");
  const double size = std::abs(item.at("expected").at(name).get<double>());
  if (tolerance.contains(name))
    return tolerance.at(name).is_object() ? tolerance.at(name).value("abs", 0.0) + tolerance.at(name).value("rel", 0.0) * size
                                          : tolerance.at(name).get<double>();
  return std::max(tolerance.value("abs", 0.0), tolerance.value("rel", 0.0) * size);
}

/// The file as it is read once for a whole test program.
inline const nlohmann::json& loaded(const std::string& name) {
  static std::map<std::string, nlohmann::json> files;
  const auto at = files.find(name);
  return at != files.end() ? at->second : files.emplace(name, load(name)).first->second;
}

/// Puts one comparison into the test's own record (--gtest_output=xml), from which tests/evidence/outside_checks.py prints its
/// table.
inline void record(const nlohmann::json& item, const std::string& name, double computed, double published) {
  std::array<char, 80> text{};
  std::snprintf(text.data(), text.size(), "%.15g %.15g ", computed, published);
  testing::Test::RecordProperty("outside " + item.at("id").get<std::string>() + " " + name,
                                text.data() + item.value("source", std::string{}));
}

/// Compares one number with what is published, and records both.
inline void expect_near(const nlohmann::json& item, const std::string& name, double computed, double published,
                        double difference) {
  record(item, name, computed, published);
  EXPECT_NEAR(computed, published, difference) << item.at("id") << ' ' << name;
}
/// The same with the case's own expectation and tolerance.
inline void expect_near(const nlohmann::json& item, const std::string& name, double computed) {
  expect_near(item, name, computed, item.at("expected").at(name).get<double>(), allowed(item, name));
}

}  // namespace coldstroke::published
