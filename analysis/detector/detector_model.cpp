// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/detector_model.hpp"

#include <algorithm>
#include <limits>

namespace coldstroke::analysis {

std::int32_t IntegerLowPass::feed(std::int32_t x) {
  if (shift_ == 0) return x;
  level_ += x - (level_ >> shift_);  // C++20: the shift of a negative number rounds down
  return static_cast<std::int32_t>(level_ >> shift_);
}

std::int32_t net_of_rest(std::int32_t counts, std::int32_t rest_counts) {
  constexpr std::int64_t kLow = std::numeric_limits<std::int32_t>::min(), kHigh = std::numeric_limits<std::int32_t>::max();
  return static_cast<std::int32_t>(std::clamp(std::int64_t{counts} - rest_counts, kLow, kHigh));
}

DetectorModel::DetectorModel(const DetectorSettings& settings)
    : settings_{settings},
      filter_{settings.filter_shift},
      state_{in_range(settings) ? DetectorState::idle : DetectorState::inhibited} {
  if (state_ == DetectorState::idle) window_.assign(settings.window_samples, 0);
}

bool DetectorModel::condition(std::int32_t net) {
  if (settings_.kind == DetectorKind::sustained) {
    at_threshold_ = net >= settings_.threshold_counts ? at_threshold_ + 1 : 0;
    return at_threshold_ > settings_.window_samples;
  }
  std::int32_t& oldest = window_[at_];
  at_ = at_ + 1 == window_.size() ? 0 : at_ + 1;
  if (settings_.kind == DetectorKind::k_of_n) {
    if (oldest >= settings_.threshold_counts) --at_threshold_;
    if (net >= settings_.threshold_counts) ++at_threshold_;
    oldest = net;
    return at_threshold_ >= settings_.required_samples;
  }
  sum_ += std::int64_t{net} - oldest;
  oldest = net;
  return sum_ >= statistic_threshold(settings_);
}

bool DetectorModel::feed(std::int32_t counts) {
  if (state_ == DetectorState::decided || state_ == DetectorState::inhibited) return false;
  const std::int32_t net = filter_.feed(net_of_rest(counts, settings_.rest_counts));
  if (net >= settings_.building_counts) state_ = DetectorState::building;
  if (condition(net)) {
    state_ = DetectorState::decided;
    return true;
  }
  if (state_ != DetectorState::building) return false;
  if (settings_.deadline_samples != 0 && since_building_ >= settings_.deadline_samples) {
    state_ = DetectorState::inhibited;
  } else {
    ++since_building_;
  }
  return false;
}

std::optional<std::size_t> decision_of(std::span<const StateChange> changes) {
  for (const StateChange& c : changes)
    if (c.state == DetectorState::decided) return c.sample_index;
  return std::nullopt;
}

std::optional<std::size_t> replay(const DetectorSettings& settings, std::span<const std::int32_t> counts) {
  DetectorModel detector{settings};
  for (std::size_t k = 0; k < counts.size() && detector.state() != DetectorState::inhibited; ++k)
    if (detector.feed(counts[k])) return k;
  return std::nullopt;
}

std::vector<StateChange> state_changes(const DetectorSettings& settings, std::span<const std::int32_t> counts) {
  DetectorModel detector{settings};
  std::vector<StateChange> out;
  DetectorState last = DetectorState::idle;
  if (detector.state() != last) out.push_back({0, last = detector.state()});
  for (std::size_t k = 0; k < counts.size(); ++k) {
    detector.feed(counts[k]);
    if (detector.state() != last) out.push_back({k, last = detector.state()});
  }
  return out;
}

}  // namespace coldstroke::analysis
