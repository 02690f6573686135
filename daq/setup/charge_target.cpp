// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/charge_target.hpp"

#include <array>
#include <cmath>
#include <cstdio>

namespace coldstroke::daq {

namespace {

constexpr double kReliefShare = 0.9;  // as for target_bar in the setup file

std::string bar(double pascals) {
  std::array<char, 32> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%.2f bar", pascals / 1.0e5);
  return buffer.data();
}

}  // namespace

std::optional<Complaint> target_trouble(double pascals, const Setup& s) {
  const std::string where = "target pressure";
  if (!std::isfinite(pascals) || pascals <= 0.0)
    return Complaint{"the target is a gauge pressure above zero", where, "type a number in bar, such as 7.5"};
  const std::string asked = bar(pascals) + " is ";
  if (!s.parts.empty() && pascals > s.weakest_part().limit_pascals)
    return Complaint{asked + "more than " + s.weakest_part().name + " may bear (" + bar(s.weakest_part().limit_pascals) + ")",
                     where, "stay below the weakest part"};
  if (pascals >= s.charge.maximum_pascals)
    return Complaint{asked + "not below the maximum of " + bar(s.charge.maximum_pascals), where, "type a lower pressure"};
  if (pascals > kReliefShare * s.charge.relief_pascals)
    return Complaint{asked + "above 90 % of the relief valve's " + bar(s.charge.relief_pascals), where, "type a lower pressure"};
  if (pascals < s.charge.low_pascals || pascals > s.charge.high_pascals)
    return Complaint{asked + "outside the charge window of the setup", where,
                     "type " + bar(s.charge.low_pascals) + " to " + bar(s.charge.high_pascals)};
  return std::nullopt;
}

}  // namespace coldstroke::daq
