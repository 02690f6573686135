// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which value stands apart. These tests label and never remove: a slow detection is the very thing the bench is for.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "analysis/result.hpp"

namespace coldstroke::analysis::statistics {

enum class OutlierSide { either, largest, smallest };

struct GrubbsTest {
  std::size_t suspect = 0;  ///< place of the value furthest out, from 0
  double statistic = 0.0;   ///< |x - mean| / s
  double critical = 0.0;    ///< at the significance asked for
  bool flagged = false;
  bool operator==(const GrubbsTest&) const = default;
};
/// One value against the rest, which must be normal (Grubbs; NIST/SEMATECH e-Handbook 1.3.5.17.1). Three values or more;
/// two extreme values can hide each other: then use extreme_deviates().
[[nodiscard]] Result<GrubbsTest> grubbs(std::span<const double> values, OutlierSide side, double significance = 0.05);
/// (n-1)/sqrt(n) sqrt(t^2 / (n-2+t^2)), t at significance / n on one side, / 2n for either.
[[nodiscard]] Result<double> grubbs_critical(std::size_t n, OutlierSide side, double significance);

struct ExtremeDeviate {
  std::size_t place = 0;
  double statistic = 0.0, critical = 0.0;
  bool operator==(const ExtremeDeviate&) const = default;
};
struct ExtremeDeviates {
  std::vector<ExtremeDeviate> steps;  ///< furthest first, each found with those before it set aside
  std::size_t flagged = 0;            ///< the first so many are outliers: the largest step whose statistic is above critical
  bool operator==(const ExtremeDeviates&) const = default;
};
/// Generalised extreme studentised deviates for up to `most` outliers on either side (Rosner 1983; e-Handbook 1.3.5.17.3),
/// accurate from 15 values on, good from 25. `most` at most n - 2.
[[nodiscard]] Result<ExtremeDeviates> extreme_deviates(std::span<const double> values, std::size_t most,
                                                       double significance = 0.05);

struct DixonTest {
  std::size_t suspect = 0;
  double statistic = 0.0;  ///< gap to the neighbour over the range, the larger of both ends
  double critical_10 = 0.0, critical_05 = 0.0, critical_01 = 0.0;  ///< two-sided, Rorabacher 1991
  bool operator==(const DixonTest&) const = default;
};
/// For 3 to 10 values.
[[nodiscard]] Result<DixonTest> dixon(std::span<const double> values);

}  // namespace coldstroke::analysis::statistics
