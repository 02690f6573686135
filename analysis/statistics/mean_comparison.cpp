// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/mean_comparison.hpp"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <vector>

#include "analysis/statistics/preconditions.hpp"

namespace coldstroke::analysis::statistics {

namespace bm = boost::math;

namespace {

std::optional<Complaint> bad_moments(Moments side, const char* where) {
  if (side.count < 2) return Complaint{"fewer than two values on one side", where, "record more trials"};
  if (!std::isfinite(side.mean) || !std::isfinite(side.standard_deviation) || side.standard_deviation < 0.0)
    return Complaint{"a mean or scatter that cannot be", where, "give finite numbers and a scatter of 0 or more"};
  return std::nullopt;
}

/// Fills t, p and the interval from difference, standard error and degrees of freedom.
void finish(MeanDifference& out, double confidence) {
  const bm::students_t student{out.freedom};
  out.t = out.difference / out.standard_error;
  out.p_two_sided = 2.0 * bm::cdf(bm::complement(student, std::abs(out.t)));
  const double reach = bm::quantile(student, 0.5 * (1.0 + confidence)) * out.standard_error;
  out.interval = {out.difference - reach, out.difference + reach, confidence};
}

}  // namespace

Result<Moments> moments(std::span<const double> values) {
  return describe(values).map([](const Description& d) { return Moments{d.count, d.mean, d.standard_deviation}; });
}

Result<MeanDifference> compare_means(Moments first, Moments second, double confidence, Scatter scatter) {
  constexpr auto kWhere = "comparison of two means (t)";
  if (const auto fault = first_fault(
          {not_between_zero_and_one(confidence, "confidence", kWhere), bad_moments(first, kWhere), bad_moments(second, kWhere)}))
    return refuse(*fault);
  if (first.standard_deviation == 0.0 && second.standard_deviation == 0.0)
    return complain("neither side scatters, so there is nothing to measure a difference by", kWhere,
                    "check the resolution of the channel; real trials scatter");
  const auto n1 = static_cast<double>(first.count), n2 = static_cast<double>(second.count);
  const double v1 = first.standard_deviation * first.standard_deviation,
               v2 = second.standard_deviation * second.standard_deviation;
  return guarded(kWhere, [&] {
    MeanDifference out;
    out.difference = first.mean - second.mean;
    if (scatter == Scatter::pooled) {
      out.freedom = n1 + n2 - 2.0;
      out.standard_error = std::sqrt(((n1 - 1.0) * v1 + (n2 - 1.0) * v2) / out.freedom * (1.0 / n1 + 1.0 / n2));
    } else {
      const double e1 = v1 / n1, e2 = v2 / n2, part = e1 / (e1 + e2);
      out.standard_error = std::sqrt(e1 + e2);
      out.freedom = 1.0 / (part * part / (n1 - 1.0) + (1.0 - part) * (1.0 - part) / (n2 - 1.0));
    }
    finish(out, confidence);
    return out;
  });
}

Result<MeanDifference> compare_paired_means(std::span<const double> first, std::span<const double> second, double confidence) {
  constexpr auto kWhere = "comparison of pairs (t)";
  if (const auto fault =
          first_fault({not_between_zero_and_one(confidence, "confidence", kWhere), unpaired(first.size(), second.size(), kWhere),
                       unusable(first, 2, kWhere), unusable(second, 2, kWhere)}))
    return refuse(*fault);
  std::vector<double> differences(first.size());
  std::ranges::transform(first, second, differences.begin(), [](double x, double y) { return x - y; });
  if (const auto fault = without_scatter(differences, kWhere)) return refuse(*fault);
  const Result<Description> d = describe(differences);
  if (!d) return refuse(d.error());
  return guarded(kWhere, [&] {
    MeanDifference out;
    out.difference = d->mean;
    out.freedom = static_cast<double>(d->count) - 1.0;
    out.standard_error = d->standard_deviation / std::sqrt(static_cast<double>(d->count));
    finish(out, confidence);
    return out;
  });
}

Result<Equivalence> show_equivalence(Moments first, Moments second, Margin margin, double significance, Scatter scatter) {
  constexpr auto kWhere = "equivalence within a margin";
  if (const auto fault = not_between_zero_and_one(significance, "significance", kWhere)) return refuse(*fault);
  if (significance >= 0.5) return complain("a significance of one half or more", kWhere, "set it to 0.05 or less");
  if (!std::isfinite(margin.low) || !std::isfinite(margin.high) || margin.low >= margin.high)
    return complain("a margin whose low end is not below its high end", kWhere,
                    "set, before the trials, which difference is of no consequence");
  const Result<MeanDifference> means = compare_means(first, second, 1.0 - 2.0 * significance, scatter);
  if (!means) return refuse(means.error());
  return guarded(kWhere, [&] {
    const bm::students_t student{means->freedom};
    Equivalence out;
    out.means = *means;
    out.p_above_low = bm::cdf(bm::complement(student, (means->difference - margin.low) / means->standard_error));
    out.p_below_high = bm::cdf(student, (means->difference - margin.high) / means->standard_error);
    out.p_value = std::max(out.p_above_low, out.p_below_high);
    out.equivalent = out.p_value < significance;
    return out;
  });
}

}  // namespace coldstroke::analysis::statistics
