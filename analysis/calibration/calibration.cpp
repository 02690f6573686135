// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/calibration/calibration.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <string>

#include "analysis/signal/level.hpp"

namespace coldstroke::analysis {
namespace {

constexpr double kLowerLimitDeviations = 2.4;  // ASTM E74, from memory
constexpr double kSameLoadShare = 1.0e-3;      // of the span

std::size_t different_loads(std::span<const CalibrationPoint> points, double span) {
  std::vector<double> loads;
  for (const CalibrationPoint& p : points) loads.push_back(p.applied);
  std::sort(loads.begin(), loads.end());
  std::size_t count = loads.empty() ? 0 : 1;
  for (std::size_t i = 1; i < loads.size(); ++i)
    if (loads[i] - loads[i - 1] > kSameLoadShare * span) ++count;
  return count;
}

Result<void> usable(std::span<const CalibrationPoint> points, std::size_t parameters) {
  for (std::size_t i = 0; i < points.size(); ++i)
    if (!std::isfinite(points[i].applied) || !std::isfinite(points[i].reading))
      return complain("A calibration point is not a number.", "point " + std::to_string(i + 1),
                      "Enter it again or leave it out.");
  if (points.size() < parameters + 1)
    return complain(
        "There are too few calibration points.", std::to_string(points.size()) + " points",
        "Give at least " + std::to_string(parameters + 1) + ": with fewer nothing is left over to show how well they fit.");
  const auto [low, high] = std::ranges::minmax(points, {}, &CalibrationPoint::applied);
  if (different_loads(points, high.applied - low.applied) < parameters || !(high.applied > low.applied))
    return complain("The calibration points do not lie at enough different loads.",
                    std::to_string(different_loads(points, high.applied - low.applied)) + " different loads",
                    "Spread them over the range that trials use, at " + std::to_string(parameters + 1) + " loads or more.");
  return {};
}

/// Covariance of the coefficients from that of the fit's scaled columns.
std::array<std::array<double, 3>, 3> unscaled(const Eigen::MatrixXd& covariance, double scale) {
  std::array<std::array<double, 3>, 3> out{};
  for (Eigen::Index i = 0; i < covariance.rows(); ++i)
    for (Eigen::Index k = 0; k < covariance.cols(); ++k)
      out[static_cast<std::size_t>(i)][static_cast<std::size_t>(k)] =
          covariance(i, k) / (std::pow(scale, static_cast<double>(i)) * std::pow(scale, static_cast<double>(k)));
  return out;
}

Result<void> one_load_a_reading(const CalibrationCurve& curve, double largest_reading) {
  const double low = curve.applied_low(), high = curve.applied_high();
  constexpr double kFlat = 1.0e-9;  // of the readings themselves: rounding, not a sensor
  const double rise = std::abs(curve.reading_at(high) - curve.reading_at(low));
  if (curve.slope_at(low) * curve.slope_at(high) > 0.0 && rise > kFlat * largest_reading) return {};
  return complain("The calibration curve does not rise or fall throughout, so a reading would mean two loads.",
                  "between " + std::to_string(low) + " and " + std::to_string(high),
                  "Look for a mistyped point; use a straight line, or points over a smaller range.");
}

}  // namespace

double CalibrationCurve::reading_at(double applied) const {
  return coefficients_[0] + applied * (coefficients_[1] + applied * coefficients_[2]);
}

double CalibrationCurve::slope_at(double applied) const { return coefficients_[1] + 2.0 * coefficients_[2] * applied; }

Result<CalibrationCurve> CalibrationCurve::fit(std::span<const CalibrationPoint> points, CalibrationForm form,
                                               const CalibrationKnowledge& knowledge) {
  const auto degree = static_cast<std::size_t>(form);
  const std::size_t parameters = degree + 1;
  if (auto good = usable(points, parameters); !good) return tl::unexpected{good.error()};
  CalibrationCurve out;
  out.form_ = form;
  out.low_ = std::ranges::min(points, {}, &CalibrationPoint::applied).applied;
  out.high_ = std::ranges::max(points, {}, &CalibrationPoint::applied).applied;
  // Scaled columns: loads of a meganewton squared would cost the digits of the constant term.
  const double scale = std::max(std::abs(out.low_), std::abs(out.high_));
  const auto n = static_cast<Eigen::Index>(points.size()), p = static_cast<Eigen::Index>(parameters);
  Eigen::MatrixXd columns(n, p);
  Eigen::VectorXd readings(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const CalibrationPoint& point = points[static_cast<std::size_t>(i)];
    const double x = point.applied / scale;
    columns(i, 0) = 1.0;
    for (Eigen::Index k = 1; k < p; ++k) columns(i, k) = columns(i, k - 1) * x;
    readings(i) = point.reading;
  }
  const Eigen::HouseholderQR<Eigen::MatrixXd> qr(columns);
  const Eigen::VectorXd solution = qr.solve(readings);
  const Eigen::VectorXd residuals = readings - columns * solution;
  out.residuals_.assign(residuals.data(), residuals.data() + n);
  out.residual_sd_ = residuals.norm() / std::sqrt(static_cast<double>(n - p));
  const Eigen::MatrixXd r = qr.matrixQR().topRows(p).triangularView<Eigen::Upper>();
  const Eigen::MatrixXd inverse = r.triangularView<Eigen::Upper>().solve(Eigen::MatrixXd::Identity(p, p));
  const Eigen::MatrixXd unit_covariance = inverse * inverse.transpose();
  const Eigen::MatrixXd covariance = unit_covariance * out.residual_sd_ * out.residual_sd_;
  for (std::size_t i = 0; i < parameters; ++i)
    out.coefficients_[i] = solution(static_cast<Eigen::Index>(i)) / std::pow(scale, static_cast<double>(i));
  out.covariance_ = unscaled(covariance, scale);
  for (std::size_t i = 0; i < 3; ++i) out.standard_errors_[i] = std::sqrt(out.covariance_[i][i]);
  out.resolution_ = knowledge.reading_resolution;
  out.reference_ = knowledge.reference_standard_uncertainty;
  out.doubt_ = reading_doubt(points, knowledge.reading_resolution, out.residual_sd_, static_cast<double>(n - p));
  if (out.doubt_.source == DoubtSource::scatter) {
    out.doubt_covariance_ = out.covariance_;
  } else {
    // Each reading's own variance through the same least squares: J V J'.
    const Eigen::MatrixXd jacobian = unit_covariance * columns.transpose();
    Eigen::VectorXd variances(n);
    for (Eigen::Index i = 0; i < n; ++i)
      variances(i) = known_variance(points[static_cast<std::size_t>(i)], knowledge.reading_resolution);
    out.doubt_covariance_ = unscaled(jacobian * variances.asDiagonal() * jacobian.transpose(), scale);
  }
  if (auto good = one_load_a_reading(out, readings.cwiseAbs().maxCoeff()); !good) return tl::unexpected{good.error()};
  return out;
}

double CalibrationCurve::reading_standard_uncertainty_at(double applied) const {
  const std::array<double, 3> powers{1.0, applied, applied * applied};
  double variance = 0.0;
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t k = 0; k < 3; ++k) variance += powers[i] * doubt_covariance_[i][k] * powers[k];
  return std::sqrt(std::max(0.0, variance));
}

double CalibrationCurve::mean_slope() const { return coefficients_[1] + coefficients_[2] * (low_ + high_); }

double CalibrationCurve::mean_slope_relative_uncertainty() const {
  const double sum = low_ + high_;
  const auto& c = doubt_covariance_;
  const double variance = c[1][1] + 2.0 * sum * c[1][2] + sum * sum * c[2][2];
  return std::sqrt(std::max(0.0, variance)) / std::abs(mean_slope());
}

double CalibrationCurve::scatter_limit() const { return kLowerLimitDeviations * residual_sd_ / std::abs(mean_slope()); }

double CalibrationCurve::lower_limit_factor() const { return std::max(scatter_limit(), resolution_ / std::abs(mean_slope())); }

Result<Applied> CalibrationCurve::applied_for(double reading, double reading_standard_uncertainty) const {
  const double a = coefficients_[2], b = coefficients_[1], c = coefficients_[0] - reading;
  const double root = b * b - 4.0 * a * c;
  if (!std::isfinite(reading) || root < 0.0)
    return complain("The calibration curve never gives this reading.", "reading " + std::to_string(reading),
                    "Calibrate over the range that trials use, or use a straight line.");
  Applied out;
  // The root that goes on where a straight line would: free of cancellation, and the one the points lie on.
  out.value = -2.0 * c / (b + std::copysign(std::sqrt(root), b));
  const double slope = std::abs(slope_at(out.value));
  out.from_points = std::hypot(reading_standard_uncertainty_at(out.value), doubt_.standard_deviation) / slope;
  out.points_source = doubt_.source;
  out.points_freedom = doubt_.degrees_of_freedom;
  out.from_reference = reference_ * std::abs(out.value);
  out.from_this_reading = std::abs(reading_standard_uncertainty) / slope;
  const double slack = kSameLoadShare * (high_ - low_);
  out.beyond_points = out.value < low_ - slack || out.value > high_ + slack;
  return out;
}

LoadingCheck compare_loading(std::span<const CalibrationPoint> points, const CalibrationCurve& curve) {
  LoadingCheck out;
  const double same = kSameLoadShare * (curve.applied_high() - curve.applied_low());
  const auto largest = [](std::optional<double>& worst, double value) {
    if (!worst || std::abs(value) > std::abs(*worst)) worst = value;
  };
  for (const CalibrationPoint& down : points) {
    if (!down.unloading) continue;
    double sum = 0.0;
    int count = 0;
    for (const CalibrationPoint& up : points)
      if (!up.unloading && std::abs(up.applied - down.applied) <= same) sum += up.reading, ++count;
    if (count > 0 && std::abs(down.applied) > same)
      largest(out.hysteresis, (down.reading - sum / count) / curve.slope_at(down.applied));
  }
  const auto at_no_load = [same](const CalibrationPoint& p) { return std::abs(p.applied) <= same; };
  const auto first = std::ranges::find_if(points, at_no_load);
  const auto last = std::find_if(points.rbegin(), points.rend(), at_no_load);
  if (first != points.end() && &*first != &*last) out.zero_return = (last->reading - first->reading) / curve.slope_at(0.0);
  return out;
}

double shunt_step_per_volt(double arm_ohms, double shunt_ohms) { return arm_ohms / (4.0 * shunt_ohms + 2.0 * arm_ohms); }

ShuntCheck check_shunt(double reading_without, double reading_with, double expected_step, double relative_tolerance) {
  ShuntCheck out{expected_step, reading_with - reading_without, relative_tolerance, 0.0, false};
  out.relative_error = out.seen / out.expected - 1.0;
  out.within = std::isfinite(out.relative_error) && std::abs(out.relative_error) <= relative_tolerance;
  return out;
}

Result<Tare> tare_of(std::span<const double> readings) {
  const Level rest = level(readings);
  if (rest.count < 2 || !std::isfinite(rest.mean) || !std::isfinite(rest.standard_deviation))
    return complain("A tare needs at least two readings that are numbers.", std::to_string(rest.count) + " readings",
                    "Let the sensor stand still and capture again.");
  return Tare{rest.mean, rest.standard_deviation / std::sqrt(static_cast<double>(rest.count))};
}

Result<Applied> tared(const CalibrationCurve& curve, double reading, double reading_standard_uncertainty, const Tare& tare) {
  auto loaded = curve.applied_for(reading, reading_standard_uncertainty);
  if (!loaded) return loaded;
  const auto zero = curve.applied_for(tare.reading);
  if (!zero) return zero;
  loaded->value -= zero->value;
  loaded->from_this_reading = std::hypot(loaded->from_this_reading, tare.standard_uncertainty / curve.slope_at(zero->value));
  loaded->from_reference = curve.reference_standard_uncertainty() * std::abs(loaded->value);
  return loaded;
}

}  // namespace coldstroke::analysis
