// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/clock_exchange.hpp"

#include <algorithm>
#include <cmath>

namespace coldstroke::analysis {
namespace {

constexpr std::size_t kWindow = 8;        // stages of the RFC 5905 clock filter
constexpr std::size_t kLineCount = 3;     // least number of readings for a drift
constexpr double kLineSpanSeconds = 2.0;  // below this the drift would be noise over time

}  // namespace

ClockReading read_clock(const ClockExchange& e, const ClockLimits& limits) {
  ClockReading out;
  out.at_seconds = e.t1 + 0.5 * (e.t4 - e.t1);
  out.offset_seconds =
      0.5 * ((e.t2 - e.t1) + (e.t3 - e.t4)) - 0.5 * (limits.least_way_out_seconds - limits.least_way_back_seconds);
  const double precision = std::max(limits.near_precision_seconds, limits.far_precision_seconds);
  out.delay_seconds = std::max((e.t4 - e.t1) - (e.t3 - e.t2), precision);
  const double epsilon =
      limits.near_precision_seconds + limits.far_precision_seconds + limits.frequency_tolerance * std::abs(e.t4 - e.t1);
  const double open = out.delay_seconds - limits.least_way_out_seconds - limits.least_way_back_seconds;
  out.distance_seconds = 0.5 * std::max(open, precision) + epsilon;
  return out;
}

std::optional<std::size_t> minimum_delay(std::span<const ClockReading> readings) {
  if (readings.empty()) return std::nullopt;
  const auto best = std::min_element(readings.begin(), readings.end(), [](const ClockReading& a, const ClockReading& b) {
    return a.delay_seconds < b.delay_seconds;
  });
  return static_cast<std::size_t>(best - readings.begin());
}

double jitter_seconds(std::span<const ClockReading> readings, std::size_t chosen) {
  if (readings.size() < 2 || chosen >= readings.size()) return 0.0;
  double sum = 0.0;
  for (const ClockReading& reading : readings) {
    const double difference = readings[chosen].offset_seconds - reading.offset_seconds;
    sum += difference * difference;
  }
  return std::sqrt(sum) / static_cast<double>(readings.size() - 1);
}

double LineFit::standard_error_at(double x) const {
  const double mean_error = residual_standard_deviation / std::sqrt(static_cast<double>(count));
  return std::hypot(mean_error, slope_standard_error * (x - centre));
}

Result<LineFit> fit_line(std::span<const double> x, std::span<const double> y) {
  if (x.size() != y.size() || x.size() < 3)
    return complain("A straight line cannot be fitted.", "fit of " + std::to_string(x.size()) + " points",
                    "Give at least three points, x and y in pairs.");
  const auto n = static_cast<double>(x.size());
  LineFit fit;
  fit.count = x.size();
  double mean_y = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    fit.centre += x[i] / n;
    mean_y += y[i] / n;
  }
  double sxx = 0.0, sxy = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    sxx += (x[i] - fit.centre) * (x[i] - fit.centre);
    sxy += (x[i] - fit.centre) * (y[i] - mean_y);
  }
  if (!(sxx > 0.0) || !std::isfinite(sxy))
    return complain("A straight line cannot be fitted.", "all points at one x, or not a number", "Give points that are spread.");
  fit.slope = sxy / sxx;
  fit.intercept = mean_y - fit.slope * fit.centre;
  double squares = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double residual = y[i] - mean_y - fit.slope * (x[i] - fit.centre);
    squares += residual * residual;
  }
  fit.residual_standard_deviation = std::sqrt(squares / (n - 2.0));
  fit.slope_standard_error = fit.residual_standard_deviation / std::sqrt(sxx);
  fit.intercept_standard_error = fit.residual_standard_deviation * std::sqrt(1.0 / n + fit.centre * fit.centre / sxx);
  return fit;
}

double ClockFit::offset_at(double near_seconds) const { return offset_ + slope_ * (near_seconds - origin_); }

double ClockFit::to_near(double far_seconds) const { return origin_ + (far_seconds - offset_ - origin_) / (1.0 + slope_); }

double ClockFit::distance_at(double near_seconds) const {
  const double growth = fitted_ ? limits_.frequency_tolerance : limits_.unfitted_drift;
  double best = INFINITY;
  for (const ClockReading& reading : used_)
    best = std::min(best, reading.distance_seconds + growth * std::abs(near_seconds - reading.at_seconds));
  return best;
}

double ClockFit::standard_uncertainty_at(double near_seconds) const {
  const double line = line_ ? line_->standard_error_at(near_seconds - origin_) : 0.0;
  const double bound = std::hypot(distance_at(near_seconds) / std::sqrt(3.0), line);
  if (!line_ || !limits_.asymmetry_standard_uncertainty_seconds) return bound;
  double away = INFINITY;
  for (const ClockReading& reading : used_) away = std::min(away, std::abs(near_seconds - reading.at_seconds));
  const double wander = limits_.frequency_tolerance * away / std::sqrt(3.0);
  const double step = std::hypot(limits_.near_precision_seconds, limits_.far_precision_seconds) / std::sqrt(3.0);
  return std::min(bound, std::sqrt(std::pow(*limits_.asymmetry_standard_uncertainty_seconds, 2) + line * line + wander * wander +
                                   step * step));
}

Result<ClockFit> fit_clock(std::span<const ClockExchange> exchanges, const ClockLimits& limits) {
  if (exchanges.empty())
    return complain("The clocks cannot be aligned.", "no clock exchange", "Let the link run until a clock request is answered.");
  std::vector<ClockReading> kept;
  for (std::size_t first = 0; first < exchanges.size(); first += kWindow) {
    std::vector<ClockReading> window;
    for (std::size_t i = first; i < std::min(first + kWindow, exchanges.size()); ++i) {
      const ClockExchange& e = exchanges[i];
      if (!std::isfinite(e.t1 + e.t2 + e.t3 + e.t4) || e.t4 < e.t1 || e.t3 < e.t2)
        return complain("A clock exchange makes no sense.", "exchange " + std::to_string(i),
                        "Its reply is earlier than its request, or a time is not a number: look at the board's clock.");
      window.push_back(read_clock(e, limits));
    }
    kept.push_back(window[*minimum_delay(window)]);
  }
  // Of what a delay leaves open: bytes that surely take their time would let a late reply of a short last window through.
  const double smallest = kept[*minimum_delay(kept)].distance_seconds;
  ClockFit fit;
  fit.limits_ = limits;
  for (const ClockReading& reading : kept)
    if (reading.distance_seconds <= 2.0 * smallest) fit.used_.push_back(reading);
  const ClockReading& best = fit.used_[*minimum_delay(fit.used_)];
  fit.origin_ = best.at_seconds;
  fit.offset_ = best.offset_seconds;
  const double spread = fit.used_.back().at_seconds - fit.used_.front().at_seconds;
  if (fit.used_.size() < kLineCount || spread < kLineSpanSeconds) return fit;
  std::vector<double> x, y;
  for (const ClockReading& reading : fit.used_) {
    x.push_back(reading.at_seconds - fit.origin_);  // near zero: keeps the digits of large clock readings
    y.push_back(reading.offset_seconds - best.offset_seconds);
  }
  const Result<LineFit> line = fit_line(x, y);
  if (!line) return fit;
  fit.line_ = *line;
  fit.fitted_ = true;
  fit.offset_ = best.offset_seconds + line->intercept;
  fit.slope_ = line->slope;
  return fit;
}

}  // namespace coldstroke::analysis
