// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the pressures of the virtual rig really did in one ejection: the edges of docs/methods.md, from the integration's own
// steps and by none of the analysis's code.
#pragma once

#include <optional>
#include <vector>

namespace coldstroke::daq {

/// 10 to 90 % of the way between two states, first crossings between steps.
struct PressureEdges {
  std::optional<double> supply_fall_seconds, chamber_rise_seconds, valve_delay_seconds;
};

/// Gauge pressures, Pa, from the release on.
class PressureStory {
 public:
  void release(double when, double supply_pascals, double chamber_pascals);
  /// Later than the step before; nothing is kept before a release or after 150 ms from separation.
  void step(double when, double supply_pascals, double chamber_pascals);
  void separation(double when) { separation_seconds_ = when; }
  /// As far as it got. The supply's second state is its lowest from separation on, the chamber's its highest until then.
  [[nodiscard]] PressureEdges edges() const;

 private:
  struct Step {
    double when, supply, chamber;
  };
  std::vector<Step> steps_;
  std::optional<double> separation_seconds_;
};

}  // namespace coldstroke::daq
