// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/rank_comparison.hpp"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

#include "analysis/statistics/preconditions.hpp"

namespace coldstroke::analysis::statistics {

namespace bm = boost::math;

namespace {

constexpr std::size_t kMostExact = 50;
constexpr std::size_t kMostValues = 5000;  // the shift looks at every pair

/// Distribution of a rank statistic on 0, 1, ...: its lower cumulative sums.
using Cumulative = std::vector<double>;

Cumulative accumulated(std::vector<double> counts) {
  const double all = std::accumulate(counts.begin(), counts.end(), 0.0);
  std::partial_sum(counts.begin(), counts.end(), counts.begin());
  for (double& count : counts) count /= all;
  return counts;
}

/// Mann & Whitney 1947: N(i, j, u) = N(i - 1, j, u - j) + N(i, j - 1, u). Only sums of positive numbers: exact in all digits.
Cumulative u_distribution(std::size_t n1, std::size_t n2) {
  std::vector<std::vector<double>> count(n1 + 1, std::vector<double>(n1 * n2 + 1, 0.0));
  for (auto& row : count) row[0] = 1.0;
  for (std::size_t j = 1; j <= n2; ++j)
    for (std::size_t i = 1; i <= n1; ++i)
      for (std::size_t u = j; u <= i * j; ++u) count[i][u] += count[i - 1][u - j];
  return accumulated(std::move(count[n1]));
}

/// Of the sum of a random subset of 1 .. n.
Cumulative v_distribution(std::size_t n) {
  std::vector<double> count(n * (n + 1) / 2 + 1, 0.0);
  count[0] = 1.0;
  for (std::size_t r = 1; r <= n; ++r)
    for (std::size_t s = count.size() - 1; s >= r; --s) count[s] += count[s - r];
  return accumulated(std::move(count));
}

struct Tails {
  double two_sided, greater, less;
};

/// The statistic's distribution is symmetric, so the upper tail is the lower tail of its mirror image: no subtraction.
Tails exact_tails(const Cumulative& below, double statistic) {
  const auto at = static_cast<std::size_t>(std::llround(statistic));
  const double less = below[at], greater = below[below.size() - 1 - at];
  return {std::min(1.0, 2.0 * std::min(less, greater)), greater, less};
}

Tails normal_tails(double from_mean, double deviation) {
  const bm::normal unit;
  const double corrected = std::max(0.0, std::abs(from_mean) - 0.5);
  return {std::min(1.0, 2.0 * bm::cdf(bm::complement(unit, corrected / deviation))),
          bm::cdf(bm::complement(unit, (from_mean - 0.5) / deviation)), bm::cdf(unit, (from_mean + 0.5) / deviation)};
}

/// How many ordered differences lie outside each end of the interval, plus one, and the confidence that gives.
struct End {
  std::size_t rank = 1;
  double confidence = 0.0;
};

End exact_end(const Cumulative& below, double confidence) {
  const auto found = std::ranges::lower_bound(below, 0.5 * (1.0 - confidence));
  const auto rank = std::max<std::size_t>(1, static_cast<std::size_t>(found - below.begin()));
  return {rank, 1.0 - 2.0 * below[rank - 1]};
}

End normal_end(double mean, double deviation, double confidence) {
  const bm::normal unit;
  const double z = bm::quantile(unit, 0.5 * (1.0 + confidence));
  const double rank = std::max(1.0, std::floor(mean - z * deviation));
  return {static_cast<std::size_t>(rank), 1.0 - 2.0 * bm::cdf(unit, (rank - 0.5 - mean) / deviation)};
}

double middle_of(const std::vector<double>& sorted) {
  const std::size_t n = sorted.size();
  return n % 2 == 1 ? sorted[n / 2] : 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]);
}

Result<Shift> shift_of(std::vector<double> differences, End end, const char* where) {
  std::ranges::sort(differences);
  const Shift out{middle_of(differences),
                  {differences[end.rank - 1], differences[differences.size() - end.rank], end.confidence}};
  if (std::isfinite(out.estimate) && std::isfinite(out.interval.low) && std::isfinite(out.interval.high)) return out;
  return complain("too many values were never reached for a shift with two ends", where,
                  "compare how often it was reached instead");
}

/// guarded() wraps what it is given in a Result, so only numbers are computed inside it.
struct Numbers {
  Tails tails;
  End end;
};

/// Infinity from infinity counts as no difference: neither side ever got there.
double difference_of(double x, double y) { return x == y ? 0.0 : x - y; }

std::optional<Complaint> bad_side(std::span<const double> values, const char* where) {
  if (values.empty()) return Complaint{"no value on one side", where, "record trials of both"};
  if (values.size() > kMostValues) return Complaint{"more than 5000 values on one side", where, "take a part of them"};
  const bool good =
      std::ranges::all_of(values, [](double x) { return std::isfinite(x) || x == std::numeric_limits<double>::infinity(); });
  if (good) return std::nullopt;
  return Complaint{"a value that is not a number", where, "give finite values, or +infinity for one that was never reached"};
}

}  // namespace

Result<MannWhitney> mann_whitney(std::span<const double> first, std::span<const double> second, double confidence) {
  constexpr auto kWhere = "comparison of two samples (Mann-Whitney)";
  if (const auto fault = first_fault(
          {not_between_zero_and_one(confidence, "confidence", kWhere), bad_side(first, kWhere), bad_side(second, kWhere)}))
    return refuse(*fault);
  std::vector<double> all{first.begin(), first.end()};
  all.insert(all.end(), second.begin(), second.end());
  if (const auto fault = without_scatter(all, kWhere)) return refuse(*fault);
  const auto n1 = static_cast<double>(first.size()), n2 = static_cast<double>(second.size()), n = n1 + n2;
  const Ranking ranking = rank(all);
  const double rank_sum =
      std::accumulate(ranking.ranks.begin(), ranking.ranks.begin() + static_cast<std::ptrdiff_t>(first.size()), 0.0);
  const double u = rank_sum - 0.5 * n1 * (n1 + 1.0), mean = 0.5 * n1 * n2;
  const bool small = first.size() <= kMostExact && second.size() <= kMostExact, exact = small && ranking.tie_sum == 0.0;
  std::vector<double> differences;
  for (const double x : first)
    for (const double y : second) differences.push_back(difference_of(x, y));
  const Result<Numbers> numbers = guarded(kWhere, [&] {
    const Cumulative below = small ? u_distribution(first.size(), second.size()) : Cumulative{};
    const double tied = std::sqrt(n1 * n2 / 12.0 * (n + 1.0 - ranking.tie_sum / (n * (n - 1.0))));
    return Numbers{exact ? exact_tails(below, u) : normal_tails(u - mean, tied),
                   small ? exact_end(below, confidence) : normal_end(mean, std::sqrt(n1 * n2 * (n + 1.0) / 12.0), confidence)};
  });
  if (!numbers) return refuse(numbers.error());
  return MannWhitney{.u_first = u,
                     .p_two_sided = numbers->tails.two_sided,
                     .p_greater = numbers->tails.greater,
                     .p_less = numbers->tails.less,
                     .exact = exact,
                     .shift = shift_of(std::move(differences), numbers->end, kWhere)};
}

Result<SignedRank> signed_rank(std::span<const double> first, std::span<const double> second, double confidence) {
  constexpr auto kWhere = "comparison of pairs (Wilcoxon)";
  if (const auto fault =
          first_fault({not_between_zero_and_one(confidence, "confidence", kWhere), unpaired(first.size(), second.size(), kWhere),
                       unusable(first, 1, kWhere), unusable(second, 1, kWhere), bad_side(first, kWhere)}))
    return refuse(*fault);
  std::vector<double> differences, sizes, averages;
  for (std::size_t k = 0; k < first.size(); ++k)
    if (first[k] != second[k]) differences.push_back(first[k] - second[k]);
  if (differences.empty()) return complain("every pair is equal", kWhere, "there is no difference to judge");
  for (const double d : differences) sizes.push_back(std::abs(d));
  const Ranking ranking = rank(sizes);
  double v = 0.0;
  for (std::size_t k = 0; k < differences.size(); ++k)
    if (differences[k] > 0.0) v += ranking.ranks[k];
  for (std::size_t i = 0; i < differences.size(); ++i)
    for (std::size_t j = i; j < differences.size(); ++j) averages.push_back(0.5 * (differences[i] + differences[j]));
  const std::size_t pairs = differences.size(), equal = first.size() - pairs;
  const auto n = static_cast<double>(pairs);
  const bool small = pairs <= kMostExact, exact = small && equal == 0 && ranking.tie_sum == 0.0;
  const double mean = n * (n + 1.0) / 4.0, square = n * (n + 1.0) * (2.0 * n + 1.0) / 24.0;
  const Result<Numbers> numbers = guarded(kWhere, [&] {
    const Cumulative below = small ? v_distribution(pairs) : Cumulative{};
    return Numbers{exact ? exact_tails(below, v) : normal_tails(v - mean, std::sqrt(square - ranking.tie_sum / 48.0)),
                   small ? exact_end(below, confidence) : normal_end(mean, std::sqrt(square), confidence)};
  });
  if (!numbers) return refuse(numbers.error());
  return SignedRank{.v = v,
                    .equal_pairs = equal,
                    .p_two_sided = numbers->tails.two_sided,
                    .p_greater = numbers->tails.greater,
                    .p_less = numbers->tails.less,
                    .exact = exact,
                    .shift = shift_of(std::move(averages), numbers->end, kWhere)};
}

}  // namespace coldstroke::analysis::statistics
