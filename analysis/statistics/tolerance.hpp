// SPDX-License-Identifier: GPL-3.0-or-later
//
// Tolerance factors and order statistics: limits that hold a stated share of all ejections, with a stated confidence.
// docs/statistics.md, "Limits".
#pragma once

#include <cstddef>

#include "analysis/result.hpp"

namespace coldstroke::analysis::statistics {

/// A share of all trials, and the confidence with which the limit holds it. Both strictly between 0 and 1.
struct Content {
  double share = 0.95;
  double confidence = 0.95;
  bool operator==(const Content&) const = default;
};

/// k of mean + k s (or mean - k s) for n normal values: noncentral t quantile over sqrt(n), exact.
[[nodiscard]] Result<double> one_sided_factor(std::size_t n, Content content);

/// k of mean -+ k s for n normal values, exact: the root of
/// 2 int_0^inf P[chi2_f > f r(z)^2 / k^2] sqrt(n / 2 pi) exp(-n z^2 / 2) dz = confidence, Phi(z + r) - Phi(z - r) = share,
/// f = n - 1 (ISO 16269-6 and Meeker, Hahn & Escobar tabulate it).
[[nodiscard]] Result<double> two_sided_factor(std::size_t n, Content content);

/// Howe's approximation (1969) of the two-sided factor, up to half a percent off either way. For comparison with older
/// tables and as a start for the exact one; never for a limit.
[[nodiscard]] Result<double> howe_factor(std::size_t n, Content content);

/// How many of the n values lie at or beyond the distribution-free one-sided limit: 1 means the largest (or smallest) is
/// the limit. The largest r with BinomCDF(n - r; n, share) >= confidence. Refuses when even the extreme value is no limit;
/// the complaint then gives the n that would do and the share that this n supports.
[[nodiscard]] Result<std::size_t> one_sided_order(std::size_t n, Content content);
/// How many values lie at or beyond each end of the distribution-free interval: 1 means smallest to largest.
[[nodiscard]] Result<std::size_t> two_sided_order(std::size_t n, Content content);
/// Confidence really reached when `beyond` of n values are at or beyond the limits (both ends together).
[[nodiscard]] Result<double> confidence_reached(std::size_t n, std::size_t beyond, double share);
/// Smallest n for which the extreme value (ends = 1) or the two extreme values (ends = 2) are a limit.
[[nodiscard]] Result<std::size_t> values_needed(Content content, int ends);

/// Confidence for each of `statements` so that all hold together with `joint` confidence at least (Bonferroni).
[[nodiscard]] Result<double> confidence_for_each(double joint, std::size_t statements);

}  // namespace coldstroke::analysis::statistics
