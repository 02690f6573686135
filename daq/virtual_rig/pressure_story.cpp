// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/pressure_story.hpp"

#include <algorithm>

namespace coldstroke::daq {
namespace {

constexpr double kAfterSeconds = 0.15;

}  // namespace

void PressureStory::release(double when, double supply_pascals, double chamber_pascals) {
  steps_.assign(1, {when, supply_pascals, chamber_pascals});
}

void PressureStory::step(double when, double supply_pascals, double chamber_pascals) {
  if (steps_.empty() || when <= steps_.back().when) return;
  if (when > separation_seconds_.value_or(steps_.front().when + 1.0) + kAfterSeconds) return;
  steps_.push_back({when, supply_pascals, chamber_pascals});
}

PressureEdges PressureStory::edges() const {
  PressureEdges out;
  if (steps_.empty() || !separation_seconds_) return out;
  const Step& start = steps_.front();
  const auto out_of_tube = std::ranges::find_if(steps_, [&](const Step& s) { return s.when >= *separation_seconds_; });
  if (out_of_tube == steps_.end()) return out;
  const double lowest = std::ranges::min_element(out_of_tube, steps_.end(), {}, &Step::supply)->supply;
  const double highest = std::ranges::max_element(steps_.begin(), out_of_tube, {}, &Step::chamber)->chamber;
  // Where `part` of the way from the first step's value to `target` is first reached.
  const auto reached = [&](double Step::*pressure, double target, double part) -> std::optional<double> {
    const auto way = [&](const Step& s) { return (s.*pressure - start.*pressure) / (target - start.*pressure); };
    for (std::size_t i = 1; i < steps_.size(); ++i) {
      if (!(way(steps_[i]) >= part)) continue;
      const double before = way(steps_[i - 1]);
      return steps_[i - 1].when + (steps_[i].when - steps_[i - 1].when) * (part - before) / (way(steps_[i]) - before);
    }
    return std::nullopt;
  };
  const auto lasting = [&](double Step::*pressure, double target) -> std::optional<double> {
    const auto from = reached(pressure, target, 0.1), to = reached(pressure, target, 0.9);
    return from && to ? std::optional{*to - *from} : std::nullopt;
  };
  out.supply_fall_seconds = lasting(&Step::supply, lowest);
  out.chamber_rise_seconds = lasting(&Step::chamber, highest);
  if (const auto middle = reached(&Step::chamber, highest, 0.5)) out.valve_delay_seconds = *middle - start.when;
  return out;
}

}  // namespace coldstroke::daq
