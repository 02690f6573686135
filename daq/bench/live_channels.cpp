// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/bench/live_channels.hpp"

#include <algorithm>
#include <cmath>

namespace coldstroke::daq {

namespace {
constexpr double kStandardGravity = 9.80665;
constexpr double kSlopeSeconds = 0.5;
constexpr double kPressureMeanSeconds = 0.05;
constexpr double kBinSeconds = 0.05;
constexpr std::size_t kBins = 10;
/// Share of a new sample in the slow mean before the release: about 2000 samples' memory.
constexpr double kRestShare = 1.0 / 2000.0;

bool saturated(const ChannelSetup& channel, double value, std::int32_t counts, std::uint8_t bits) {
  const std::int64_t end = (std::int64_t{1} << (bits - 1U)) - 1;
  return value <= channel.range_low || value >= channel.range_high || counts >= end || counts <= -end - 1;
}
}  // namespace

LiveChannels::LiveChannels(const Setup& setup)
    : setup_{setup},
      histories_(setup.channels.size()),
      newest_(setup.channels.size()),
      newest_index_(setup.channels.size()),
      watches_(setup.channels.size()) {
  // One g of net acceleration: far above the noise of either sensor, and reached within a fraction of a millisecond.
  const double moving = setup.trial.vehicle_mass_kg + setup.trial.moving_rig_mass_kg;
  witnesses_ = {{analysis::Role::force, moving * kStandardGravity}, {analysis::Role::vehicle_acceleration, kStandardGravity}};
}

void LiveChannels::receive(Node node, const wire::SampleBlock& block, const wire::StreamDescription* stream, HostTime now) {
  const std::size_t samples = block.counts.size() / block.channels;
  if (samples == 0) return;
  const double period = stream == nullptr ? 0.0 : stream->period_ns * 1.0e-9;
  std::vector<double> values(samples);
  for (std::size_t c = 0; c < setup_.channels.size(); ++c) {
    const ChannelSetup& channel = setup_.channels[c];
    if (channel.node != node || channel.stream != block.stream || channel.index >= block.channels) continue;
    const auto found = std::ranges::find(witnesses_, channel.role, &Witness::role);
    Witness* witness = found == witnesses_.end() ? nullptr : &*found;
    bool clipped = false;
    double sum = 0.0;
    for (std::size_t k = 0; k < samples; ++k) {
      const std::int32_t counts = block.counts[k * block.channels + channel.index];
      values[k] = channel.calibration.si(counts);
      clipped = clipped || saturated(channel, values[k], counts, block.bits);
      sum += values[k];
      if (witness != nullptr) watch(*witness, values[k]);
    }
    newest_[c] = Newest{values.back(), now, clipped};
    const double seconds = static_cast<double>(block.node_time_us) * 1.0e-6;
    keep_watch(watches_[c], seconds, values, clipped);
    if (channel.role == analysis::Role::supply_pressure) {
      if (!pressure_points_.empty() && seconds < pressure_points_.back().seconds)
        pressure_points_.clear();  // the board restarted
      pressure_points_.push_back({seconds, sum / static_cast<double>(samples)});
      while (pressure_points_.back().seconds - pressure_points_.front().seconds > kSlopeSeconds) pressure_points_.pop_front();
    }
    if (period <= 0.0) continue;
    if (!histories_[c])
      histories_[c] = std::make_shared<History>(
          static_cast<std::size_t>(std::max(1.0, std::ceil(setup_.sequence.history_seconds / period))), period);
    // blocks come at most a second late; an index further back means that the board counts anew
    if (static_cast<double>(newest_index_[c] - std::min(newest_index_[c], block.first_index)) * period > 1.0)
      histories_[c]->clear();
    newest_index_[c] = block.first_index;
    histories_[c]->append(block.first_index, seconds, values);
  }
}

std::optional<LiveChannels::Newest> LiveChannels::newest(analysis::Role role) const {
  for (std::size_t c = 0; c < setup_.channels.size(); ++c)
    if (setup_.channels[c].role == role) return newest_[c];
  return std::nullopt;
}

void LiveChannels::keep_watch(Watch& watch, double seconds, const std::vector<double>& values, bool clipped) {
  std::deque<Bin>& bins = watch.bins;
  if (!bins.empty() && seconds < bins.back().begin_seconds) bins.clear();  // the board restarted
  if (bins.empty()) watch.about = values.front();
  if (bins.empty() || seconds >= bins.back().begin_seconds + kBinSeconds) {
    bins.push_back({seconds, 0.0, 0.0, values.front(), values.front(), 0, false});
    if (bins.size() > kBins) bins.pop_front();
  }
  Bin& bin = bins.back();
  for (const double value : values) {
    const double off = value - watch.about;
    bin.sum += off;
    bin.sum_squares += off * off;
    bin.low = std::min(bin.low, value);
    bin.high = std::max(bin.high, value);
  }
  bin.count += values.size();
  bin.clipped = bin.clipped || clipped;
}

std::vector<ChannelHealth> LiveChannels::health(HostTime now) const {
  std::vector<ChannelHealth> out(watches_.size());
  for (std::size_t c = 0; c < watches_.size(); ++c) {
    const Watch& watch = watches_[c];
    if (watch.bins.empty() || !newest_[c]) continue;
    ChannelHealth& health = out[c];
    health.age = seconds_between(newest_[c]->time, now);
    double sum = 0.0, squares = 0.0, low = watch.bins.front().low, high = watch.bins.front().high;
    std::size_t count = 0;
    for (const Bin& bin : watch.bins) {
      sum += bin.sum;
      squares += bin.sum_squares;
      low = std::min(low, bin.low);
      high = std::max(high, bin.high);
      count += bin.count;
      health.saturated = health.saturated || bin.clipped;
    }
    const double mean = sum / static_cast<double>(count);
    health.mean = watch.about + mean;
    health.noise = std::sqrt(std::max(0.0, squares / static_cast<double>(count) - mean * mean));
    health.frozen = !setup_.channels[c].may_stand_still && watch.bins.size() == kBins && low == high;
  }
  return out;
}

std::optional<double> LiveChannels::largest(analysis::Role role) const {
  for (std::size_t c = 0; c < setup_.channels.size(); ++c) {
    if (setup_.channels[c].role != role || watches_[c].bins.empty()) continue;
    const Bin& bin = watches_[c].bins.back();
    return std::max(std::abs(bin.low), std::abs(bin.high));
  }
  return std::nullopt;
}

std::optional<double> LiveChannels::pressure() const {
  if (pressure_points_.empty()) return std::nullopt;
  const double from = pressure_points_.back().seconds - kPressureMeanSeconds;
  double sum = 0.0;
  int count = 0;
  for (auto point = pressure_points_.rbegin(); point != pressure_points_.rend() && point->seconds >= from; ++point, ++count)
    sum += point->pascals;
  return sum / count;
}

std::optional<double> LiveChannels::pressure_slope() const {
  if (pressure_points_.size() < 3) return std::nullopt;
  const double span = pressure_points_.back().seconds - pressure_points_.front().seconds;
  if (span < 0.9 * kSlopeSeconds) return std::nullopt;
  // straight line by least squares; times are centred, so two sums suffice
  const auto n = static_cast<double>(pressure_points_.size());
  double mean_t = 0.0, mean_p = 0.0;
  for (const Point& point : pressure_points_) {
    mean_t += (point.seconds - pressure_points_.front().seconds) / n;
    mean_p += point.pascals / n;
  }
  double above = 0.0, below = 0.0;
  for (const Point& point : pressure_points_) {
    const double t = point.seconds - pressure_points_.front().seconds - mean_t;
    above += t * (point.pascals - mean_p);
    below += t * t;
  }
  return above / below;
}

void LiveChannels::watch_motion() {
  watching_ = true;
  for (Witness& witness : witnesses_) witness.moved = false;
}

bool LiveChannels::motion_seen() const { return watching_ && std::ranges::any_of(witnesses_, &Witness::moved); }

void LiveChannels::watch(Witness& witness, double value) const {
  if (watching_) {
    witness.moved = witness.moved || (witness.rest_known && std::abs(value - witness.rest_mean) >= witness.threshold);
    return;
  }
  witness.rest_mean = witness.rest_known ? witness.rest_mean + kRestShare * (value - witness.rest_mean) : value;
  witness.rest_known = true;
}

void LiveChannels::end_watch() { watching_ = false; }

}  // namespace coldstroke::daq
