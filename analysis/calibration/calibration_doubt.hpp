// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the uncertainty of a calibration stands on. The scatter of the points about their curve shows everything that changed from
// point to point, but over few points it is known badly, and it may be small by chance, or none at all. So what is known of each
// reading, its own noise and its resolution, bounds the doubt from below. Both cannot be added: the scatter holds the noise.
#pragma once

#include <limits>
#include <optional>
#include <span>

namespace coldstroke::analysis {

struct CalibrationPoint;

enum class DoubtSource : unsigned char {
  scatter,       ///< of the points about the curve, Student's t with the fit's degrees of freedom
  readings,      ///< noise and resolution of the points' readings: the scatter shows less than these must leave
  reference,     ///< stated of what the loads were compared with
  this_reading,  ///< given with the reading that is brought back
  unknown        ///< the points lie on the curve and nothing is known of their readings: they bound nothing
};

/// What is known besides the points.
struct CalibrationKnowledge {
  double reading_resolution = 0.0;              ///< smallest step of a reading, in its unit; 0: not known
  double reference_standard_uncertainty = 0.0;  ///< relative, the same error in all loads; 0: not stated
};

inline constexpr double kExactlyKnown = std::numeric_limits<double>::infinity();  ///< degrees of freedom

/// Of one reading about the curve.
struct ReadingDoubt {
  DoubtSource source = DoubtSource::unknown;
  double standard_deviation = 0.0;  ///< reading; 0 if unknown
  double degrees_of_freedom = kExactlyKnown;
};

/// Variance of a point's mean reading: s^2 / n of its samples, taken as independent, and (resolution)^2 / 12. JCGM 100:2008 4.2.3
/// and F.2.2.1.
[[nodiscard]] double known_variance(const CalibrationPoint& point, double resolution);

/// Scatter or readings, whichever gives the wider 95 % interval. Degrees of freedom of the readings by Welch and Satterthwaite
/// (JCGM 100:2008 G.4.1), those of a resolution infinite. `residual_freedom`: points less coefficients, 1 or more.
[[nodiscard]] ReadingDoubt reading_doubt(std::span<const CalibrationPoint> points, double resolution, double residual_deviation,
                                         double residual_freedom);

/// Factor of a two-sided 95 % interval: Student's t, 1.96 for infinite degrees of freedom (JCGM 100:2008 G.3).
[[nodiscard]] double factor_95(double degrees_of_freedom);
/// Degrees of freedom of `total`, of which `part` has `freedom` and the rest is known exactly (JCGM 100:2008 G.4.1).
[[nodiscard]] double combined_freedom(double part, double freedom, double total);

/// A reading brought back to the quantity.
struct Applied {
  double value = 0.0;                                    ///< SI
  double from_points = 0.0;                              ///< standard uncertainty, SI: of the curve, and of a reading about it
  double from_reference = 0.0, from_this_reading = 0.0;  ///< standard uncertainties, SI
  DoubtSource points_source = DoubtSource::unknown;
  double points_freedom = kExactlyKnown;
  bool beyond_points = false;  ///< outside the applied values that were calibrated: extrapolated, and to be flagged

  /// Absent: nothing bounds what the points leave, whatever the other two are.
  [[nodiscard]] std::optional<double> standard_uncertainty() const;
  [[nodiscard]] double degrees_of_freedom() const;            ///< of that, Welch and Satterthwaite
  [[nodiscard]] std::optional<double> half_width_95() const;  ///< Student's t
  [[nodiscard]] DoubtSource largest() const;                  ///< of the three parts
};

}  // namespace coldstroke::analysis
