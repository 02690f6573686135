// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/units.hpp"

#include <array>
#include <charconv>
#include <numbers>

namespace coldstroke::daq {
namespace {

struct Unit {
  Dimension dimension;
  std::string_view word;
  double factor;
};

constexpr double kRadiansPerDegree = std::numbers::pi / 180.0;

// The SI unit stands first in each dimension.
// g, kgf: standard acceleration of gravity 9.806 65 m/s^2, exact. lbf: 4.448 221 615 260 5 N, exact. psi: 6894.757 293 168 Pa
// (lbf/in^2, rounded in its 13th digit). All: NIST SP 811 (2008), appendix B.8 and its footnotes.
constexpr Unit kUnits[] = {
    {Dimension::time, "s", 1.0},
    {Dimension::time, "ms", 1e-3},
    {Dimension::time, "us", 1e-6},
    {Dimension::force, "N", 1.0},
    {Dimension::force, "kN", 1e3},
    {Dimension::force, "kgf", 9.80665},
    {Dimension::force, "lbf", 4.4482216152605},
    {Dimension::pressure, "Pa", 1.0},
    {Dimension::pressure, "kPa", 1e3},
    {Dimension::pressure, "MPa", 1e6},
    {Dimension::pressure, "bar", 1e5},
    {Dimension::pressure, "psi", 6894.757293168},
    {Dimension::acceleration, "m/s2", 1.0},
    {Dimension::acceleration, "g", 9.80665},
    {Dimension::current, "A", 1.0},
    {Dimension::current, "mA", 1e-3},
    {Dimension::impulse, "N s", 1.0},
    {Dimension::impulse, "lbf s", 4.4482216152605},
    {Dimension::speed, "m/s", 1.0},
    {Dimension::speed, "ft/s", 0.3048},
    {Dimension::energy, "J", 1.0},
    {Dimension::energy, "kJ", 1e3},
    {Dimension::length, "m", 1.0},
    {Dimension::length, "mm", 1e-3},
    {Dimension::length, "ft", 0.3048},
    {Dimension::angle, "rad", 1.0},
    {Dimension::angle, "deg", kRadiansPerDegree},
    {Dimension::angular_rate, "rad/s", 1.0},
    {Dimension::angular_rate, "deg/s", kRadiansPerDegree},
    {Dimension::action, "A2 s", 1.0},
    {Dimension::plain, "1", 1.0},
    {Dimension::plain, "%", 1e-2},
};

}  // namespace

Dimension dimension(analysis::Quantity quantity) {
  switch (quantity) {
    case analysis::Quantity::force:
      return Dimension::force;
    case analysis::Quantity::gauge_pressure:
      return Dimension::pressure;
    case analysis::Quantity::acceleration:
      return Dimension::acceleration;
    case analysis::Quantity::current:
      return Dimension::current;
    case analysis::Quantity::angular_rate:
      return Dimension::angular_rate;
    case analysis::Quantity::other:
      break;
  }
  return Dimension::any;
}

std::optional<double> to_si_factor(Dimension dimension, std::string_view unit) {
  if (dimension == Dimension::any) return 1.0;
  for (const Unit& known : kUnits) {
    if (known.dimension == dimension && known.word == unit) return known.factor;
  }
  return std::nullopt;
}

std::string shortest(double value) {
  std::array<char, 32> text{};
  const auto end = std::to_chars(text.data(), text.data() + text.size(), value).ptr;
  return {text.data(), end};
}

std::string unit_words(Dimension dimension) {
  if (dimension == Dimension::any) return "any word";
  std::string words;
  for (const Unit& known : kUnits) {
    if (known.dimension != dimension) continue;
    if (!words.empty()) words += ", ";
    words += known.word;
  }
  return words;
}

std::string_view si_word(Dimension dimension) {
  for (const Unit& known : kUnits) {
    if (known.dimension == dimension) return known.word;
  }
  return "";
}

}  // namespace coldstroke::daq
