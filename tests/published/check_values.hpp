// SPDX-License-Identifier: GPL-3.0-or-later
//
// Check values from outside the project, read from tests/published/data. Each case names its source.
#pragma once

#include <algorithm>
#include <cmath>
#include <fstream>
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

}  // namespace coldstroke::published
