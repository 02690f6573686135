// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/scenario_setup.hpp"

#include <array>
#include <charconv>

#include "daq/setup/setup.hpp"
#include "daq/virtual_rig/scenario.hpp"

namespace coldstroke::daq {

namespace {

/// Shortest text that reads back as the same number; TOML wants a point or an exponent in a float, and takes an integer too.
std::string number_text(double value) {
  std::array<char, 32> text{};
  const auto end = std::to_chars(text.data(), text.data() + text.size(), value).ptr;
  return {text.data(), end};
}

}  // namespace

Result<std::string> setup_text_for(const std::string& scenario) {
  const auto known = load_scenario(scenario);
  if (!known) return tl::unexpected{known.error()};
  std::string text{virtual_setup_text()};
  if (!known->firing.dummy_load) return text;
  static constexpr std::string_view kOpen = "ends_in = \"open\"";
  const std::string load = "ends_in = \"dummy_load\"\nohms = " + number_text(known->firing.load_ohms);
  for (std::size_t at = text.find(kOpen); at != std::string::npos; at = text.find(kOpen, at + load.size()))
    text.replace(at, kOpen.size(), load);
  return text;
}

}  // namespace coldstroke::daq
