// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/preconditions.hpp"

#include <algorithm>
#include <cmath>

namespace coldstroke::analysis::statistics {

std::optional<Complaint> unusable(std::span<const double> values, std::size_t least, std::string_view where) {
  for (std::size_t k = 0; k < values.size(); ++k) {
    if (!std::isfinite(values[k]))
      return Complaint{"value " + std::to_string(k + 1) + " is not a finite number", std::string{where},
                       "leave out, with its reason, the trial that has no such value"};
  }
  if (values.size() < least)
    return Complaint{
        std::to_string(values.size()) + (values.size() == 1 ? " value, needs " : " values, needs ") + std::to_string(least),
        std::string{where}, "record more trials"};
  return std::nullopt;
}

std::optional<Complaint> not_between_zero_and_one(double value, std::string_view name, std::string_view where) {
  if (value > 0.0 && value < 1.0) return std::nullopt;  // false for NaN as well
  return Complaint{std::string{name} + " is not between 0 and 1", std::string{where},
                   "give it as a part of one, for example 0.95, without 0 and 1 themselves"};
}

std::optional<Complaint> impossible_counts(std::int64_t trials, std::int64_t failures, std::string_view where) {
  if (trials < 0 || failures < 0) return Complaint{"a count below zero", std::string{where}, "count trials and failures from 0"};
  if (trials == 0) return Complaint{"no judged trial, so nothing is shown", std::string{where}, "run a trial that counts"};
  if (failures > trials)
    return Complaint{std::to_string(failures) + " failures in " + std::to_string(trials) + " trials", std::string{where},
                     "a trial fails at most once: check the two counts"};
  return std::nullopt;
}

std::optional<Complaint> without_scatter(std::span<const double> values, std::string_view where) {
  if (values.empty() || std::ranges::any_of(values, [&](double x) { return x != values[0]; })) return std::nullopt;
  return Complaint{"all values are equal, so there is no scatter to measure by", std::string{where},
                   "check the resolution of the channel; real trials scatter"};
}

std::optional<Complaint> unpaired(std::size_t first, std::size_t second, std::string_view where) {
  if (first == second) return std::nullopt;
  return Complaint{std::to_string(first) + " values against " + std::to_string(second), std::string{where},
                   "give both values of every pair"};
}

std::optional<Complaint> first_fault(std::initializer_list<std::optional<Complaint>> faults) {
  const auto* found = std::ranges::find_if(faults, [](const auto& fault) { return fault.has_value(); });
  return found == faults.end() ? std::nullopt : *found;
}

}  // namespace coldstroke::analysis::statistics
