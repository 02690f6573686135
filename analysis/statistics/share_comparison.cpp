// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/share_comparison.hpp"

#include <algorithm>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/hypergeometric.hpp>
#include <boost/math/distributions/normal.hpp>
#include <cmath>

#include "analysis/statistics/preconditions.hpp"

namespace coldstroke::analysis::statistics {

namespace bm = boost::math;

namespace {

constexpr std::int64_t kMostTrials = 10'000'000;

std::optional<Complaint> bad_shares(Share first, Share second, const char* where) {
  if (const auto fault =
          first_fault({impossible_counts(first.trials, first.hits, where), impossible_counts(second.trials, second.hits, where)}))
    return fault;
  if (first.trials > kMostTrials || second.trials > kMostTrials)
    return Complaint{"more than ten million trials", where, "check the counts"};
  return std::nullopt;
}

struct Wilson {
  double low, high;
};

/// Wilson score interval of a share.
Wilson wilson(Share share, double z) {
  const auto n = static_cast<double>(share.trials);
  const double p = static_cast<double>(share.hits) / n, middle = p + z * z / (2.0 * n),
               half = z * std::sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n)), scale = 1.0 + z * z / n;
  return {(middle - half) / scale, (middle + half) / scale};
}

/// Two-sided exact test that one of two equally likely outcomes turned up `first` times and the other `second` times.
double even_odds(std::int64_t first, std::int64_t second) {
  if (first + second == 0) return 1.0;
  const bm::binomial coin{static_cast<double>(first + second), 0.5};
  return std::min(1.0, 2.0 * bm::cdf(coin, static_cast<double>(std::min(first, second))));
}

}  // namespace

Result<FisherExact> fisher_exact(Share first, Share second) {
  constexpr auto kWhere = "comparison of two shares (Fisher)";
  if (const auto fault = bad_shares(first, second, kWhere)) return refuse(*fault);
  return guarded(kWhere, [&] {
    const auto hits = static_cast<unsigned>(first.hits + second.hits), trials = static_cast<unsigned>(first.trials),
               all = static_cast<unsigned>(first.trials + second.trials), seen = static_cast<unsigned>(first.hits);
    const bm::hypergeometric_distribution<> table{hits, trials, all};
    const unsigned least = hits + trials > all ? hits + trials - all : 0, most = std::min(hits, trials);
    const double here = bm::pdf(table, seen);
    FisherExact out{0.0, 0.0, 0.0};
    for (unsigned k = least; k <= most; ++k) {
      const double p = bm::pdf(table, k);
      if (p <= here * (1.0 + 1.0e-7)) out.p_two_sided += p;
      if (k >= seen) out.p_greater += p;
      if (k <= seen) out.p_less += p;
    }
    for (double* p : {&out.p_two_sided, &out.p_greater, &out.p_less}) *p = std::min(1.0, *p);
    return out;
  });
}

Result<Interval> share_difference(Share first, Share second, double confidence) {
  constexpr auto kWhere = "difference of two shares";
  if (const auto fault =
          first_fault({bad_shares(first, second, kWhere), not_between_zero_and_one(confidence, "confidence", kWhere)}))
    return refuse(*fault);
  return guarded(kWhere, [&] {
    const double z = bm::quantile(bm::normal{}, 0.5 * (1.0 + confidence));
    const double p1 = static_cast<double>(first.hits) / static_cast<double>(first.trials),
                 p2 = static_cast<double>(second.hits) / static_cast<double>(second.trials);
    const Wilson w1 = wilson(first, z), w2 = wilson(second, z);
    return Interval{p1 - p2 - std::hypot(p1 - w1.low, w2.high - p2), p1 - p2 + std::hypot(w1.high - p1, p2 - w2.low), confidence};
  });
}

Result<PairedOutcomes> mcnemar(std::int64_t only_first, std::int64_t only_second) {
  constexpr auto kWhere = "comparison on the same stimuli (McNemar)";
  if (only_first < 0 || only_second < 0) return complain("a count below zero", kWhere, "count stimuli from 0");
  if (only_first > kMostTrials || only_second > kMostTrials)
    return complain("more than ten million stimuli", kWhere, "check the counts");
  return guarded(kWhere, [&] { return PairedOutcomes{only_first, only_second, even_odds(only_first, only_second)}; });
}

Result<SignTest> sign_test(std::span<const double> first, std::span<const double> second) {
  constexpr auto kWhere = "sign test";
  if (const auto fault =
          first_fault({unpaired(first.size(), second.size(), kWhere), unusable(first, 1, kWhere), unusable(second, 1, kWhere)}))
    return refuse(*fault);
  return guarded(kWhere, [&] {
    SignTest out;
    for (std::size_t k = 0; k < first.size(); ++k)
      ++(first[k] > second[k] ? out.above : first[k] < second[k] ? out.below : out.equal);
    out.p_two_sided = even_odds(out.above, out.below);
    return out;
  });
}

}  // namespace coldstroke::analysis::statistics
