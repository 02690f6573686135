// SPDX-License-Identifier: GPL-3.0-or-later
//
// "With this confidence, at least this share of ejections stay below (above, between)": the limit, how it was got and why so.
// docs/statistics.md, "Limits".
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/statistics/normality.hpp"
#include "analysis/statistics/sample.hpp"
#include "analysis/statistics/tolerance.hpp"

namespace coldstroke::analysis::statistics {

/// Latency and peak g have an upper limit, exit speed and ignition margin a lower one.
enum class LimitSide { upper, lower, both };
enum class LimitMethod { normal, log_normal, distribution_free };
[[nodiscard]] const char* word(LimitMethod method);

/// Fixed before the first trial, not after a look at what passes.
struct LimitRequest {
  LimitSide side = LimitSide::upper;
  Content content{};
  /// Judge the logarithms: for a quantity known beforehand to be skewed with a floor at zero. All values must be above 0.
  bool on_log_scale = false;
  /// Trials in which the quantity never came about (a detector that stayed silent): beyond every limit, and counted.
  std::size_t never_reached = 0;
  /// Smallest step of the channel, in the unit of the values; 0 if unknown. Coarser than half the scatter: no shape is judged.
  double resolution = 0.0;
  /// Expanded uncertainty (k = 2) of what all values have in common, such as the calibration: widens the limit, shown apart.
  double common_expanded_uncertainty = 0.0;
  double normality_significance = 0.05;
  std::string quantity = "value";  ///< for the sentence: "latency"
  std::string unit{};              ///< for the sentence, of the values: "ms"
};

struct Limit {
  LimitMethod method = LimitMethod::normal;
  std::optional<double> lower, upper;
  double factor = 0.0;      ///< k; 0 without one
  std::size_t rank = 0;     ///< values at or beyond each limit; 0 with a factor
  double confidence = 0.0;  ///< reached: as asked for normal limits, at least as asked for order statistics
  bool operator==(const Limit&) const = default;
};

struct LimitReport {
  Description description;                   ///< of the values that exist
  Result<AndersonDarling> anderson_darling;  ///< of the values, or of their logarithms
  Result<ShapiroWilk> shapiro_wilk;
  Result<Limit> normal;                                ///< normal, or log-normal if asked for; without what was never reached
  Result<Limit> distribution_free;                     ///< counts what was never reached
  Result<Limit> chosen;                                ///< one of the two above
  std::string why;                                     ///< the choice in one sentence
  std::optional<double> lower_widened, upper_widened;  ///< of `chosen`, by the common uncertainty; only if that is above 0
  std::string sentence;
};

/// Chooses by rule, not by result: normal if nothing speaks against it, distribution-free otherwise, and both are shown.
/// Anderson-Darling decides from 8 values on, Shapiro-Wilk below. Needs three values; refuses values without scatter.
[[nodiscard]] Result<LimitReport> find_limit(std::span<const double> values, const LimitRequest& request);

}  // namespace coldstroke::analysis::statistics
