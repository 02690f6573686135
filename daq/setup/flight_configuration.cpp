// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/flight_configuration.hpp"

#include <toml++/toml.h>

#include <nlohmann/json.hpp>
#include <sstream>

namespace coldstroke::daq {
namespace {

void flatten(const toml::table& table, const std::string& before, std::vector<analysis::HandoverItem>& items) {
  for (const auto& [key, node] : table) {
    const std::string name = before + std::string{key.str()};
    if (const auto* inner = node.as_table()) {
      flatten(*inner, name + ".", items);
    } else if (const auto* text = node.as_string()) {
      items.push_back({name, text->get()});
    } else if (const auto* real = node.as_floating_point()) {
      items.push_back({name, nlohmann::json(real->get()).dump()});
    } else {
      std::ostringstream out;
      out << toml::node_view<const toml::node>{node};
      items.push_back({name, out.str()});
    }
  }
}

}  // namespace

Result<std::vector<analysis::HandoverItem>> load_flight_configuration(const std::filesystem::path& file) {
  std::error_code error;
  if (!std::filesystem::is_regular_file(file, error))
    return complain("The flight configuration cannot be read.", file.string(), "Name a TOML file (docs/user-guide.md).");
  try {
    std::vector<analysis::HandoverItem> items;
    flatten(toml::parse_file(file.string()), "", items);
    if (items.empty())
      return complain("The flight configuration states nothing.", file.string(),
                      "State firmware, mass_kg, charge, detector settings, inhibit_deadline_seconds and motor.");
    return items;
  } catch (const toml::parse_error& wrong) {
    return complain("The flight configuration is not TOML: " + std::string{wrong.description()} + ".",
                    file.string() + ", line " + std::to_string(wrong.source().begin.line), "Mend that line.");
  }
}

}  // namespace coldstroke::daq
