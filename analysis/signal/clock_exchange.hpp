// SPDX-License-Identifier: GPL-3.0-or-later
//
// How far one clock is from another, from request and reply: RFC 5905 sections 8 to 10, and a straight line for the drift.
//
// What limits it is the asymmetry of the way out and back, which no amount of averaging shows. So the answer is always
// reported with the synchronisation distance (half the delay plus the clock terms), never with the scatter of the offsets.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "analysis/result.hpp"

namespace coldstroke::analysis {

/// One request and its reply, seconds. t1: sent, t4: received, on the near clock; t2: received, t3: sent, on the far clock.
struct ClockExchange {
  double t1 = 0.0, t2 = 0.0, t3 = 0.0, t4 = 0.0;
};

/// What one exchange says. offset = far clock minus near clock.
struct ClockReading {
  double at_seconds = 0.0;        ///< near clock, middle of the exchange
  double offset_seconds = 0.0;    ///< ((t2 - t1) + (t3 - t4)) / 2
  double delay_seconds = 0.0;     ///< (t4 - t1) - (t3 - t2), not below the precision of the clocks
  double distance_seconds = 0.0;  ///< lambda = delay / 2 + epsilon: the offset's error is not larger
};

struct ClockLimits {
  /// What each way surely takes: the bytes of request and reply at the line's rate, between the instants that are stamped. It can
  /// hide no asymmetry, so it comes off the distance; half its difference comes off the offset. 0: unknown, as RFC 5905 has it.
  double least_way_out_seconds = 0.0, least_way_back_seconds = 0.0;
  /// Standard uncertainty of half the difference between the two ways, beyond what they surely take, where it has been measured
  /// for this adapter and board. Absent: nothing is known, and half the delay is the bound.
  std::optional<double> asymmetry_standard_uncertainty_seconds = std::nullopt;
  double near_precision_seconds = 1.0e-6;  ///< reading step of each clock, rho in RFC 5905
  double far_precision_seconds = 1.0e-6;
  double frequency_tolerance = 15.0e-6;  ///< growth of epsilon, seconds a second, while the drift is fitted (PHI, RFC 5905)
  double unfitted_drift = 100.0e-6;      ///< the same while there is no drift fit: two free-running crystals
};

/// The reading of one exchange. A delay that comes out below the clocks' precision is set to it (RFC 5905 section 8).
[[nodiscard]] ClockReading read_clock(const ClockExchange& exchange, const ClockLimits& limits = {});

/// Index of the reading with the smallest delay (the first, if several); empty input: nothing.
[[nodiscard]] std::optional<std::size_t> minimum_delay(std::span<const ClockReading> readings);
/// RFC 5905 jitter: (1 / (n - 1)) * sqrt(sum of squared offset differences to `chosen`); 0 for fewer than two.
[[nodiscard]] double jitter_seconds(std::span<const ClockReading> readings, std::size_t chosen);

/// y = intercept + slope * x by least squares, with what the residuals say about it.
struct LineFit {
  double intercept = 0.0, slope = 0.0;
  double intercept_standard_error = 0.0, slope_standard_error = 0.0;
  double residual_standard_deviation = 0.0;  ///< n - 2 in the denominator
  double centre = 0.0;                       ///< mean of x
  std::size_t count = 0;
  [[nodiscard]] double at(double x) const { return intercept + slope * x; }
  /// Standard uncertainty of `at(x)` from the residuals alone.
  [[nodiscard]] double standard_error_at(double x) const;
};
/// Complains of fewer than 3 points, unequal lengths, or all x the same.
[[nodiscard]] Result<LineFit> fit_line(std::span<const double> x, std::span<const double> y);

/// One clock in terms of another over a session.
class ClockFit {
 public:
  /// far = near + offset_at(near)
  [[nodiscard]] double offset_at(double near_seconds) const;
  [[nodiscard]] double to_far(double near_seconds) const { return near_seconds + offset_at(near_seconds); }
  [[nodiscard]] double to_near(double far_seconds) const;
  /// Seconds a second, far against near; 0 while too few exchanges are spread far enough for a fit.
  [[nodiscard]] double drift() const { return slope_; }
  [[nodiscard]] bool drift_fitted() const { return fitted_; }
  /// sqrt((lambda^2 / 3) + line^2): the synchronisation distance taken as rectangular, grown with the time from the nearest
  /// exchange used, and the standard error of the line. Where there is a line and the asymmetry is stated, the line averages the
  /// scatter and the stated asymmetry stands for the half delay; never wider than the bound.
  [[nodiscard]] double standard_uncertainty_at(double near_seconds) const;
  /// Synchronisation distance there: the bound.
  [[nodiscard]] double distance_at(double near_seconds) const;
  [[nodiscard]] std::size_t exchanges_used() const { return used_.size(); }

 private:
  friend Result<ClockFit> fit_clock(std::span<const ClockExchange>, const ClockLimits&);
  std::vector<ClockReading> used_;  // one a window of eight, by smallest delay
  std::optional<LineFit> line_;
  double origin_ = 0.0, offset_ = 0.0, slope_ = 0.0;
  bool fitted_ = false;
  ClockLimits limits_;
};

/// Of every eight exchanges in a row (the last window may be shorter) the one with the smallest delay is kept; a straight line
/// through those with delay at most twice the smallest gives offset and drift, if there are three over at least two
/// seconds; else the best one alone. Complains of no exchange, times that are not numbers, or replies before their request.
[[nodiscard]] Result<ClockFit> fit_clock(std::span<const ClockExchange> exchanges, const ClockLimits& limits = {});

}  // namespace coldstroke::analysis
