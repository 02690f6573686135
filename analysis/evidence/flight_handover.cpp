// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/evidence/flight_handover.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>

namespace coldstroke::analysis {
namespace {

std::optional<double> number(const std::string& text) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

bool alike(const std::string& a, const std::string& b) {
  const auto x = number(a), y = number(b);
  if (x && y) return std::abs(*x - *y) <= 1.0e-9 * std::max(std::abs(*x), std::abs(*y));
  return a == b;
}

/// "heavier by 12.5 %": how far the intended value lies from the tested one; empty where one is no number.
std::string how_far(const std::string& tested, const std::string& intended) {
  const auto x = number(tested), y = number(intended);
  if (!x || !y || *x == 0.0) return {};
  const double percent = 100.0 * (*y - *x) / std::abs(*x);
  const double shown = std::round(std::abs(percent) * 10.0) / 10.0;
  std::string words = std::to_string(shown);
  words.resize(words.find('.') + 2);
  return words + " % " + (percent > 0.0 ? "more" : "less") + ": ";
}

std::string consequence(const std::string& key, const std::string& tested, const std::string& intended) {
  if (key == "motor") return "The trials were inert. Nothing about a motor, its ignition or its vibration was tested.";
  if (tested.empty() && (key.starts_with("balance") || key.starts_with("inertia")))
    return "The tested balance is not stated: nothing shows that tip-off and the path after separation stay what they were.";
  if (tested.empty()) return "The trials say nothing about this: it was not part of what was tested.";
  if (intended.empty()) return "The flight configuration does not state it: nobody can say whether the evidence applies.";
  const std::string far = how_far(tested, intended);
  if (key.starts_with("firmware"))
    return "None of the counted trials ran this firmware: the demonstration does not carry over, and the count for it stands at "
           "0.";
  if (key.starts_with("detector"))
    return far +
           "None of the counted trials ran this setting: the demonstration does not carry over. Replaying the recorded "
           "trials through the setting is a prediction and no demonstration.";
  if (key == "mass_kg")
    return far +
           "Acceleration and exit speed go with the mass for the same charge, and the detector sees another pulse: limits of "
           "peak acceleration, exit speed and latency hold for the tested mass only.";
  if (key.starts_with("balance") || key.starts_with("inertia"))
    return far + "Tip-off and the path after separation change: what was seen at separation holds for the tested balance only.";
  if (key == "inhibit_deadline_seconds")
    return far + "In time was judged against the tested deadline: each recorded latency must be judged again against this one.";
  if (key == "igniter_delay_seconds") return far + "The ignition margin was judged with the tested delay: judge it again.";
  if (key.starts_with("charge"))
    return far + "Every metric follows the charge: limits and the demonstration hold inside the tested band only.";
  return far + "Not covered by the trials: say why it does not matter, or test it.";
}

const std::string* find(const std::vector<HandoverItem>& items, const std::string& key) {
  const auto found = std::ranges::find(items, key, &HandoverItem::key);
  return found == items.end() ? nullptr : &found->value;
}

}  // namespace

Handover compare_for_flight(const std::vector<HandoverItem>& tested, const std::vector<HandoverItem>& intended) {
  Handover out;
  for (const HandoverItem& item : intended) {
    const std::string* other = find(tested, item.key);
    if (other != nullptr && alike(*other, item.value))
      out.same.push_back(item);
    else
      out.differences.push_back({item.key, other == nullptr ? "" : *other, item.value,
                                 consequence(item.key, other == nullptr ? "" : *other, item.value)});
  }
  for (const HandoverItem& item : tested) {
    if (find(intended, item.key) == nullptr)
      out.differences.push_back({item.key, item.value, "", consequence(item.key, item.value, "")});
  }
  return out;
}

}  // namespace coldstroke::analysis
