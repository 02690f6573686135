// SPDX-License-Identifier: GPL-3.0-or-later
//
// The instant at which a signal leaves its course, between samples: where friction lets go, where the vehicle leaves.
//
// Model: a polynomial course before; from the change on, added to it, the answer of the sensor to a step, a ramp and a
// parabola. The sensor is a second-order system (a load cell on its spring) or follows at once. For every trial instant the
// rest is linear, so the best fit and its sum of squares are exact; the sums of squares over all instants give the probability
// of each (flat prior, normal noise), and their mean and standard deviation are the answer. That covers a ramp (sharp maximum) as
// well as a bare step between two samples (flat from one to the next: period / sqrt(12)), which picks by level do not.
#pragma once

#include <cstddef>
#include <limits>
#include <span>

#include "analysis/result.hpp"

namespace coldstroke::analysis {

/// How well an edge as strong as separation shows a sensor's frequency (relative) and damping ratio (of its logarithm): standard
/// deviations over 200 simulated cells (tests/analysis/trial). The piston's stop comes with that edge, and nobody knows its
/// shape.
inline constexpr double kShownFrequencySpread = 0.03, kShownDampingLogSpread = 0.4;

struct ChangePointModel {
  std::size_t course_degree = 0;   ///< polynomial before the change, 0 to 2
  std::size_t change_degree = 2;   ///< 0: step; 1: and ramp; 2: and parabola
  double natural_frequency = 0.0;  ///< of the sensor, cycles a sample; 0: follows at once
  /// Of the sensor, if a stronger edge has shown it and the frequency. 0: unknown.
  double damping_ratio = 0.0;
  double step_low = -std::numeric_limits<double>::infinity(),
         step_high = -step_low;  ///< what the step can be, where physics says
  double noise = 0.0;            ///< least standard deviation of a sample; the residuals may say more
};

struct ChangePoint {
  double place = 0.0;                                   ///< samples from samples[0]
  double standard_uncertainty = 0.0;                    ///< samples
  double course_there = 0.0;                            ///< the polynomial's value at `place`
  double step_there = 0.0;                              ///< height of the step in the fitted change
  double natural_frequency = 0.0, damping_ratio = 0.0;  ///< of the sensor as fitted
  double lag = 0.0;  ///< samples by which the fitted sensor follows a slow change late: damping / (pi frequency)
  double residual_standard_deviation = 0.0;
};

/// Searches `earliest` <= place <= `latest`, both inside the samples. With a natural frequency, the sensor is fitted along: its
/// frequency is taken as known to 5 %, its damping ratio as 0.15 within a factor of 2.7 (bare metal to a good low-pass).
/// Complains if there are too few samples for the model or the range is empty. `samples` must be finite.
[[nodiscard]] Result<ChangePoint> find_change_point(std::span<const double> samples, double earliest, double latest,
                                                    const ChangePointModel& model);

/// Answer at `tau` (samples after the change) of a second-order system to tau^degree, degree 0 to 2; 0 for tau <= 0.
/// `natural_frequency` cycles a sample, 0: the input itself. Closed form by partial fractions.
[[nodiscard]] double second_order_answer(std::size_t degree, double tau, double natural_frequency, double damping_ratio);

}  // namespace coldstroke::analysis
