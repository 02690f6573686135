// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/calibration/calibration_doubt.hpp"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>

#include "analysis/calibration/calibration.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kTwoSided95 = 0.975;
constexpr double kRounding = 1.0e-12;  // of the readings: what least squares in doubles leave of an exact curve
constexpr double kAsGoodAsKnown = 1.0e6;

}  // namespace

double factor_95(double degrees_of_freedom) {
  if (degrees_of_freedom > kAsGoodAsKnown) return boost::math::quantile(boost::math::normal{}, kTwoSided95);
  return boost::math::quantile(boost::math::students_t{degrees_of_freedom}, kTwoSided95);
}

double combined_freedom(double part, double freedom, double total) {
  return part > 0.0 ? freedom * std::pow(total / part, 4) : kExactlyKnown;
}

double known_variance(const CalibrationPoint& point, double resolution) {
  const double noise = point.reading_standard_deviation;
  return noise * noise / std::max(1, point.samples) + resolution * resolution / 12.0;
}

ReadingDoubt reading_doubt(std::span<const CalibrationPoint> points, double resolution, double residual_deviation,
                           double residual_freedom) {
  double variance = 0.0, spread_of_it = 0.0, size = 0.0;
  for (const CalibrationPoint& point : points) {
    variance += known_variance(point, resolution);
    // A deviation stated for a single reading was found some other way.
    if (point.samples > 1) spread_of_it += std::pow(known_variance(point, 0.0), 2) / (point.samples - 1);
    size = std::max(size, std::abs(point.reading));
  }
  ReadingDoubt readings{DoubtSource::readings, std::sqrt(variance / static_cast<double>(points.size())), kExactlyKnown};
  if (spread_of_it > 0.0) readings.degrees_of_freedom = variance * variance / spread_of_it;
  const ReadingDoubt scatter{DoubtSource::scatter, residual_deviation, residual_freedom};
  const auto wide = [](const ReadingDoubt& one) { return factor_95(one.degrees_of_freedom) * one.standard_deviation; };
  if (!(variance > 0.0) && !(residual_deviation > kRounding * size)) return {};
  return wide(scatter) >= wide(readings) ? scatter : readings;
}

std::optional<double> Applied::standard_uncertainty() const {
  if (points_source == DoubtSource::unknown) return std::nullopt;
  return std::hypot(from_points, from_reference, from_this_reading);
}

double Applied::degrees_of_freedom() const {
  return combined_freedom(from_points, points_freedom, std::hypot(from_points, from_reference, from_this_reading));
}

std::optional<double> Applied::half_width_95() const {
  const auto u = standard_uncertainty();
  return u ? std::optional{*u * factor_95(degrees_of_freedom())} : std::nullopt;
}

DoubtSource Applied::largest() const {
  if (points_source == DoubtSource::unknown) return DoubtSource::unknown;
  if (from_points >= std::max(from_reference, from_this_reading)) return points_source;
  return from_reference >= from_this_reading ? DoubtSource::reference : DoubtSource::this_reading;
}

}  // namespace coldstroke::analysis
