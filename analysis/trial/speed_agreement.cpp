// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/speed_agreement.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <optional>
#include <string_view>

namespace coldstroke::analysis {
namespace {

constexpr double kAllowedDeviations = 3.0;
constexpr std::array<std::string_view, 3> kInTheTube{"exit_speed_from_force_mps", "exit_speed_from_acceleration_mps",
                                                     "exit_speed_from_stroke_mps"};
constexpr std::size_t kNone = static_cast<std::size_t>(-1);

double allowed(const SpeedWitness& a, const SpeedWitness& b) {
  return kAllowedDeviations * Budget::of_difference(a.budget, b.budget);
}

bool agree(const SpeedWitness& a, const SpeedWitness& b) { return !(std::abs(a.speed_mps - b.speed_mps) > allowed(a, b)); }

bool all_agree_without(const std::vector<SpeedWitness>& speeds, std::size_t left_out) {
  for (std::size_t i = 0; i < speeds.size(); ++i)
    for (std::size_t k = i + 1; k < speeds.size(); ++k)
      if (i != left_out && k != left_out && !agree(speeds[i], speeds[k])) return false;
  return true;
}

/// The only one whose absence makes the rest agree; with two speeds either would do, and neither is named.
std::optional<std::size_t> odd_one(const std::vector<SpeedWitness>& speeds) {
  if (speeds.size() < 3) return std::nullopt;
  std::optional<std::size_t> odd;
  for (std::size_t i = 0; i < speeds.size(); ++i) {
    if (!all_agree_without(speeds, i)) continue;
    if (odd) return std::nullopt;
    odd = i;
  }
  return odd;
}

}  // namespace

std::vector<Finding> compare_speeds(const std::vector<SpeedWitness>& speeds) {
  if (all_agree_without(speeds, kNone)) return {};
  std::string text = "Exit speeds differ by more than their uncertainties allow:";
  char part[120];
  for (std::size_t i = 0; i < speeds.size(); ++i) {
    std::snprintf(part, sizeof part, "%s %.4g ± %.2g m/s from %s", i == 0 ? "" : ",", speeds[i].speed_mps,
                  speeds[i].budget.standard_uncertainty(), speeds[i].from.c_str());
    text += part;
  }
  if (const auto odd = odd_one(speeds))
    text += ". The one from " + speeds[*odd].from + " stands apart: look at " + speeds[*odd].culprit + ".";
  else
    text += ". None stands alone against the others: look at calibration, masses, stroke length and friction.";
  return {{"exit_speeds_disagree", "", text}};
}

const Measured* best_exit_speed(const std::vector<Metric>& metrics) {
  const Measured* best = nullptr;
  for (const Metric& metric : metrics) {
    if (std::ranges::find(kInTheTube, metric.name) == kInTheTube.end()) continue;
    const Measured* speed = metric.measured();
    if (speed == nullptr || speed->at_least) continue;
    if (best == nullptr || speed->standard_uncertainty < best->standard_uncertainty) best = speed;
  }
  return best;
}

}  // namespace coldstroke::analysis
