// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/sensor_bank.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

namespace coldstroke::daq {
namespace {

constexpr double kTwoPi = 2.0 * std::numbers::pi;
constexpr std::int32_t kTop24 = (1 << 23) - 1;
constexpr std::int32_t kTop16 = (1 << 15) - 1;
constexpr std::size_t kAxis0 = 4;  // place of the x axis among the values

}  // namespace

FirstOrderLag::FirstOrderLag(double bandwidth_hz) : time_constant_{1.0 / (kTwoPi * bandwidth_hz)} {}

double FirstOrderLag::follow(double from, double to, double seconds) {
  if (seconds != cached_seconds_) {
    cached_seconds_ = seconds;
    decay_ = std::exp(-seconds / time_constant_);
  }
  // The response to a ramp lags it by slope * time constant; what was off that line dies away.
  const double lag = (to - from) / seconds * time_constant_;
  value_ = to - lag + (value_ - (from - lag)) * decay_;
  return value_;
}

SecondOrderLag::SecondOrderLag(double natural_frequency_hz, double damping)
    : omega_{kTwoPi * natural_frequency_hz}, damping_{damping} {
  assert(damping > 0.0 && damping < 1.0);
}

double SecondOrderLag::follow(double from, double to, double seconds) {
  if (seconds != cached_seconds_) {
    cached_seconds_ = seconds;
    const double sigma = damping_ * omega_, ringing = omega_ * std::sqrt(1.0 - damping_ * damping_);
    const double decay = std::exp(-sigma * seconds);
    const double cosine = decay * std::cos(ringing * seconds), sine = decay * std::sin(ringing * seconds) / ringing;
    ee_ = cosine + sigma * sine;
    er_ = sine;
    re_ = -omega_ * omega_ * sine;
    rr_ = cosine - sigma * sine;
  }
  const double slope = (to - from) / seconds, lag = 2.0 * damping_ / omega_ * slope;
  const double excess = value_ - (from - lag), excess_rate = rate_ - slope;
  value_ = to - lag + ee_ * excess + er_ * excess_rate;
  rate_ = slope + re_ * excess + rr_ * excess_rate;
  return value_;
}

SensorBank::SensorBank(const Scenario& scenario, std::uint64_t seed)
    : scenario_{scenario},
      noise_{seed, 11},
      flight_noise_{seed, 12},
      force_{scenario.force.bandwidth_hz, scenario.force.damping},
      supply_{scenario.supply_pressure.bandwidth_hz},
      chamber_{scenario.chamber_pressure.bandwidth_hz},
      current_{scenario.dummy_current.bandwidth_hz},
      axes_{SecondOrderLag{scenario.acceleration.bandwidth_hz, scenario.acceleration.damping},
            SecondOrderLag{scenario.acceleration.bandwidth_hz, scenario.acceleration.damping},
            SecondOrderLag{scenario.acceleration.bandwidth_hz, scenario.acceleration.damping}},
      filter_keep_{scenario.detector.filter_seconds > 0.0
                       ? std::exp(-1.0 / (scenario.boards.flight_rate_hz * scenario.detector.filter_seconds))
                       : 0.0} {
  Random draw{seed, 10};
  const std::array sensors{&scenario_.force,         &scenario_.supply_pressure, &scenario_.chamber_pressure,
                           &scenario_.dummy_current, &scenario_.acceleration,    &scenario_.acceleration,
                           &scenario_.acceleration};
  for (std::size_t i = 0; i < errors_.size(); ++i) {
    errors_[i].gain = sensors[i]->gain_standard_uncertainty * draw.normal();
    errors_[i].zero = sensors[i]->zero_standard_uncertainty * draw.normal();
  }
  const double rest_z = analysis::kStandardGravity * std::cos(scenario.tube.tilt_radians);
  axes_[0].settle(analysis::kStandardGravity * std::sin(scenario.tube.tilt_radians));
  axes_[2].settle(rest_z);
  points_[0].value = {0.0, 0.0, 0.0, 0.0, axes_[0].value(), 0.0, rest_z};
}

double SensorBank::rig_scale(RigChannel channel) const {
  const std::array ranges{scenario_.force.range_high, scenario_.supply_pressure.range_high, scenario_.chamber_pressure.range_high,
                          scenario_.dummy_current.range_high};
  return ranges[static_cast<std::size_t>(channel)] / (kTop24 + 1.0);
}

double SensorBank::flight_scale() const { return scenario_.acceleration.range_high / (kTop16 + 1.0); }

void SensorBank::follow(const std::vector<LoadRun>& runs, double dummy_amperes) {
  points_[0] = points_[point_count_ - 1];
  point_count_ = 1;
  for (const LoadRun& run : runs) {
    const double seconds = run.end - run.start;
    if (seconds <= 0.0) continue;
    // More pieces than a step ever has are folded into the last one.
    if (point_count_ == points_.size()) --point_count_;
    Point& point = points_[point_count_++];
    point.when = run.end;
    point.value = {force_.follow(run.from.force_newtons, run.to.force_newtons, seconds),
                   supply_.follow(run.from.supply_pascals, run.to.supply_pascals, seconds),
                   chamber_.follow(run.from.chamber_pascals, run.to.chamber_pascals, seconds),
                   current_.follow(dummy_amperes, dummy_amperes, seconds),
                   axes_[0].follow(run.from.felt_mps2[0], run.to.felt_mps2[0], seconds),
                   axes_[1].follow(run.from.felt_mps2[1], run.to.felt_mps2[1], seconds),
                   axes_[2].follow(run.from.felt_mps2[2], run.to.felt_mps2[2], seconds)};
  }
}

double SensorBank::at(std::size_t which, double when) const {
  for (std::size_t i = 1; i < point_count_; ++i) {
    const Point &before = points_[i - 1], &after = points_[i];
    if (when > after.when) continue;
    const double span = after.when - before.when;
    const double part = span > 0.0 ? std::clamp((when - before.when) / span, 0.0, 1.0) : 1.0;
    return before.value[which] + part * (after.value[which] - before.value[which]);
  }
  return points_[point_count_ - 1].value[which];
}

double SensorBank::measured(const SensorScatter& sensor, const Errors& errors, double value) {
  return value * (1.0 + errors.gain) + errors.zero + sensor.noise_rms * noise_.normal();
}

std::int32_t SensorBank::convert(double value, double scale, double low, std::int32_t top) {
  const double bottom = std::max(low / scale, -static_cast<double>(top) - 1.0);
  return static_cast<std::int32_t>(std::lround(std::clamp(value / scale, bottom, static_cast<double>(top))));
}

std::array<std::int32_t, 4> SensorBank::rig_counts(double when) {
  const std::array sensors{&scenario_.force, &scenario_.supply_pressure, &scenario_.chamber_pressure, &scenario_.dummy_current};
  std::array<std::int32_t, 4> out{};
  for (std::size_t i = 0; i < out.size(); ++i) {
    double value = measured(*sensors[i], errors_[i], at(i, when));
    if (i == 0 && faults_.force_rail_newtons)
      value = std::clamp(value, -*faults_.force_rail_newtons, *faults_.force_rail_newtons);
    if (faults_.rig_constant[i]) value = *faults_.rig_constant[i] * sensors[i]->range_high;
    out[i] = convert(value, rig_scale(static_cast<RigChannel>(i)), sensors[i]->range_low, kTop24);
  }
  if (faults_.force_frozen) out[0] = last_rig_[0];
  last_rig_ = out;
  return out;
}

std::array<std::int16_t, 3> SensorBank::flight_counts(double when) {
  const SensorScatter& sensor = scenario_.acceleration;
  std::array<std::int16_t, 3> out{};
  for (std::size_t axis = 0; axis < out.size(); ++axis) {
    const Errors& errors = errors_[kAxis0 + axis];
    double value = at(kAxis0 + axis, when) * (1.0 + errors.gain) + errors.zero + sensor.noise_rms * flight_noise_.normal();
    double limit = sensor.range_high;
    if (scenario_.detector.axis_limit_g > 0.0)
      limit = std::min(limit, scenario_.detector.axis_limit_g * analysis::kStandardGravity);
    if (faults_.axis_limit_mps2) limit = std::min(limit, *faults_.axis_limit_mps2);
    value = std::clamp(value, -limit, limit);
    if (faults_.acceleration_constant) value = *faults_.acceleration_constant * sensor.range_high;
    if (axis == scenario_.detector.axis && filter_keep_ > 0.0) {
      filtered_ = filter_started_ ? filter_keep_ * filtered_ + (1.0 - filter_keep_) * value : value;
      filter_started_ = true;
      value = filtered_;
    }
    out[axis] = static_cast<std::int16_t>(convert(value, flight_scale(), sensor.range_low, kTop16));
  }
  return out;
}

}  // namespace coldstroke::daq
