// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a sensor reads against what was truly applied: a straight line or a quadratic through calibration points, the doubt that
// remains, and the way back from a reading to the quantity.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "analysis/calibration/calibration_doubt.hpp"
#include "analysis/result.hpp"

namespace coldstroke::analysis {

/// One point: the reference put `applied` on the sensor (SI), and it read `reading` (counts, V, mA: one unit throughout).
struct CalibrationPoint {
  double applied = 0.0;
  double reading = 0.0;
  double reading_standard_deviation = 0.0;  ///< of the samples behind it, where it is a captured average
  int samples = 1;                          ///< behind the reading, 1 or more
  bool unloading = false;                   ///< taken on the way down
  bool operator==(const CalibrationPoint&) const = default;
};

enum class CalibrationForm : unsigned char { line = 1, quadratic = 2 };

/// reading = c0 + c1 applied (+ c2 applied^2), by least squares (Householder QR of the scaled columns), as load cells are
/// certified: the deflection as a function of the load. Every point has the same weight: how well it was averaged says nothing of
/// how well the load stood on the sensor.
class CalibrationCurve {
 public:
  /// Complains of fewer points than one more than the coefficients, of fewer than two (line) or three (quadratic) different
  /// applied values, of values that are not finite, of a curve that does not rise or fall throughout its span, and of one that is
  /// flat.
  [[nodiscard]] static Result<CalibrationCurve> fit(std::span<const CalibrationPoint> points, CalibrationForm form,
                                                    const CalibrationKnowledge& knowledge = {});

  [[nodiscard]] CalibrationForm form() const { return form_; }
  /// c0, c1, c2; c2 is 0 for a line.
  [[nodiscard]] const std::array<double, 3>& coefficients() const { return coefficients_; }
  [[nodiscard]] const std::array<double, 3>& standard_errors() const { return standard_errors_; }
  /// Of the coefficients, row by row, from the scatter of the points alone, as fits are certified; so are the standard errors.
  /// What belongs to c2 is 0 for a line.
  [[nodiscard]] const std::array<std::array<double, 3>, 3>& covariance() const { return covariance_; }
  [[nodiscard]] double reading_at(double applied) const;
  /// What the uncertainties below stand on. If that is unknown they are 0, and mean nothing.
  [[nodiscard]] const ReadingDoubt& doubt() const { return doubt_; }
  /// Of the curve itself at a load, without the scatter about it: what the uncertainty band shows.
  [[nodiscard]] double reading_standard_uncertainty_at(double applied) const;
  /// Mean slope over the calibrated loads, and its relative standard uncertainty; the reference's own is not in it.
  [[nodiscard]] double mean_slope() const;
  [[nodiscard]] double mean_slope_relative_uncertainty() const;
  [[nodiscard]] double slope_at(double applied) const;                                ///< reading a unit applied
  [[nodiscard]] const std::vector<double>& residuals() const { return residuals_; }   ///< reading less curve, by point
  [[nodiscard]] double residual_standard_deviation() const { return residual_sd_; }   ///< n - coefficients in the denominator
  [[nodiscard]] double reference_standard_uncertainty() const { return reference_; }  ///< relative, as given to the fit
  [[nodiscard]] double applied_low() const { return low_; }
  [[nodiscard]] double applied_high() const { return high_; }

  /// 2.4 residual standard deviations, in units applied (by the mean slope). (Factor from memory.)
  [[nodiscard]] double scatter_limit() const;
  /// Lower limit factor after ASTM E74: that, or the readings' resolution where it is larger. It bounds static force only, as
  /// that standard itself says: nothing in it speaks of a pulse of milliseconds.
  [[nodiscard]] double lower_limit_factor() const;

  /// The quantity for a reading, by the branch that the points lie on. Complains where a quadratic never reaches that reading.
  [[nodiscard]] Result<Applied> applied_for(double reading, double reading_standard_uncertainty = 0.0) const;

 private:
  CalibrationForm form_ = CalibrationForm::line;
  std::array<double, 3> coefficients_{}, standard_errors_{};
  // Of the coefficients: by the scatter, and by what doubt_ stands on.
  std::array<std::array<double, 3>, 3> covariance_{}, doubt_covariance_{};
  ReadingDoubt doubt_;
  std::vector<double> residuals_;
  double residual_sd_ = 0.0, low_ = 0.0, high_ = 0.0, reference_ = 0.0, resolution_ = 0.0;
};

/// What the way up and the way down say of each other.
struct LoadingCheck {
  std::optional<double>
      hysteresis;  ///< largest reading on the way down less that on the way up at the same load, in units applied
  std::optional<double> zero_return;  ///< last reading at no load less the first, in units applied
};
/// Loads are the same if they differ by less than a thousandth of the span.
[[nodiscard]] LoadingCheck compare_loading(std::span<const CalibrationPoint> points, const CalibrationCurve& curve);

/// Change of a strain-gauge bridge's output, V a V of excitation, when `shunt_ohms` is laid across one arm of `arm_ohms`: from
/// the bridge's own voltage divider, R / (4 Rs + 2 R), negative for an arm that lowers the output. Both must be above 0.
[[nodiscard]] double shunt_step_per_volt(double arm_ohms, double shunt_ohms);

/// Whether a shunt's step came out as it should.
struct ShuntCheck {
  double expected = 0.0, seen = 0.0;  ///< reading
  double tolerance = 0.0;             ///< relative
  double relative_error = 0.0;        ///< seen / expected - 1
  bool within = false;
};
[[nodiscard]] ShuntCheck check_shunt(double reading_without, double reading_with, double expected_step,
                                     double relative_tolerance);

/// Mean reading that is to count as zero, from samples at rest.
struct Tare {
  double reading = 0.0, standard_uncertainty = 0.0;
};
/// Complains of fewer than two samples or samples that are not finite.
[[nodiscard]] Result<Tare> tare_of(std::span<const double> readings);
/// applied_for(reading) less applied_for(tare): the zero error of the curve drops out, the tare's own doubt comes in.
[[nodiscard]] Result<Applied> tared(const CalibrationCurve& curve, double reading, double reading_standard_uncertainty,
                                    const Tare& tare);

}  // namespace coldstroke::analysis
