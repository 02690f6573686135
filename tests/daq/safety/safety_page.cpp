// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/daq/safety/safety_page.hpp"

#include <regex>
#include <sstream>
#include <stdexcept>

#include "daq/sequence/interlocks.hpp"
#include "daq/sequence/sequence.hpp"

namespace coldstroke::daq {

namespace {

std::string replaced(const std::string& page, const std::string& name, const std::string& text) {
  const std::string from = "<!-- generated: " + name + " -->\n", to = "<!-- end: " + name + " -->";
  const std::size_t begin = page.find(from), end = page.find(to);
  if (begin == std::string::npos || end == std::string::npos || end < begin)
    throw std::runtime_error{"docs/safety.md has no marks for the generated part " + name};
  return page.substr(0, begin + from.size()) + text + page.substr(end);
}

/// Rows "| 3 | ..." under the heading "## Hazards".
std::vector<std::string> hazard_rows(const std::string& page) {
  std::vector<std::string> rows;
  std::istringstream lines{page};
  bool inside = false;
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with("## ")) inside = line == "## Hazards";
    if (inside && std::regex_search(line, std::regex{R"(^\| \d+ \|)"})) rows.push_back(line);
  }
  return rows;
}

const std::regex kTestName{R"(`(Hazard\.\w+)`)"};

}  // namespace

std::string with_generated_parts(const std::string& page) {
  const auto setup = parse_setup(virtual_setup_text(), "built-in setup");
  if (!setup) throw std::runtime_error{setup.error().what};
  return replaced(replaced(page, "sequence", sequence_drawing()), "interlocks", interlock_table(*setup));
}

std::set<std::string> named_hazard_tests(const std::string& page) {
  std::set<std::string> names;
  for (const std::string& row : hazard_rows(page))
    for (std::sregex_iterator it{row.begin(), row.end(), kTestName}, end; it != end; ++it) names.insert((*it)[1].str());
  return names;
}

std::set<std::string> hazard_rows_without_test(const std::string& page) {
  std::set<std::string> rows;
  for (const std::string& row : hazard_rows(page))
    if (!std::regex_search(row, kTestName)) rows.insert(row.substr(0, row.find('|', 2)));
  return rows;
}

}  // namespace coldstroke::daq
