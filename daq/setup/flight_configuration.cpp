// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/flight_configuration.hpp"

#include <charconv>
#include <sstream>

#include "daq/setup/table_file.hpp"
#include "daq/setup/table_reader.hpp"
#include "daq/setup/units.hpp"

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
      items.push_back({name, shortest(real->get())});
    } else {
      std::ostringstream out;
      out << toml::node_view<const toml::node>{node};
      items.push_back({name, out.str()});
    }
  }
}

/// Puts the value at the dotted key: a whole or real number where all of it is one, else a text.
void place(toml::table& table, std::string_view key, const std::string& value) {
  const std::size_t dot = key.find('.');
  if (dot != std::string_view::npos) {
    auto* inner = table.insert(key.substr(0, dot), toml::table{}).first->second.as_table();
    if (inner != nullptr) return place(*inner, key.substr(dot + 1), value);
  }
  const char* const end = value.data() + value.size();
  std::int64_t whole = 0;
  double real = 0.0;
  if (const auto read = std::from_chars(value.data(), end, whole); read.ec == std::errc{} && read.ptr == end)
    table.insert_or_assign(key, whole);
  else if (const auto parsed = std::from_chars(value.data(), end, real); parsed.ec == std::errc{} && parsed.ptr == end)
    table.insert_or_assign(key, real);
  else
    table.insert_or_assign(key, value);
}

}  // namespace

Result<std::vector<analysis::HandoverItem>> load_flight_configuration(const std::filesystem::path& file) {
  const auto text = read_table_file(file, "flight configuration", "docs/statistics.md");
  if (!text) return tl::unexpected{text.error()};
  const auto document = parse_document(*text, Problems{file.string(), "flight configuration", "docs/statistics.md"},
                                       "docs/statistics.md names the keys");
  if (!document) return tl::unexpected{document.error()};
  std::vector<analysis::HandoverItem> items;
  flatten(*document, "", items);
  if (items.empty())
    return complain("The flight configuration states nothing.", file.string(),
                    "State firmware, mass_kg, charge, detector settings, inhibit_deadline_seconds and motor.");
  return items;
}

std::string flight_configuration_text(const std::vector<analysis::HandoverItem>& items) {
  toml::table table;
  for (const auto& item : items) place(table, item.key, item.value);
  std::ostringstream out;
  out << "# Configuration intended for flight\n" << table << '\n';
  return out.str();
}

}  // namespace coldstroke::daq
