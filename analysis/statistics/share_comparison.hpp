// SPDX-License-Identifier: GPL-3.0-or-later
//
// Two shares compared: how often one configuration decides against how often the other does.
#pragma once

#include <cstdint>
#include <span>

#include "analysis/result.hpp"
#include "analysis/statistics/sample.hpp"

namespace coldstroke::analysis::statistics {

/// `hits` of `trials`.
struct Share {
  std::int64_t hits = 0, trials = 0;
  bool operator==(const Share&) const = default;
};

/// Chance, if both had the same share, of a table as extreme as this one.
struct FisherExact {
  double p_two_sided = 1.0;  ///< all tables that are no likelier than this one, within a relative 1e-7
  double p_greater = 1.0;    ///< the first has this many hits or more
  double p_less = 1.0;
  bool operator==(const FisherExact&) const = default;
};
/// Fisher 1935. Refuses a side without trials and more than ten million trials.
[[nodiscard]] Result<FisherExact> fisher_exact(Share first, Share second);

/// first share - second share, from the two Wilson intervals (Newcombe, Statistics in Medicine 17 (1998) 873, method 10).
[[nodiscard]] Result<Interval> share_difference(Share first, Share second, double confidence);

/// Both configurations on the same stimuli: only stimuli on which they differ say anything.
struct PairedOutcomes {
  std::int64_t only_first = 0, only_second = 0;  ///< stimuli decided by one alone
  double p_two_sided = 1.0;                      ///< exact McNemar, a sign test on those; 1 if there are none
  bool operator==(const PairedOutcomes&) const = default;
};
[[nodiscard]] Result<PairedOutcomes> mcnemar(std::int64_t only_first, std::int64_t only_second);

/// Sign test of paired values: how often the first is above the second against below, equal pairs left out and counted.
struct SignTest {
  std::int64_t above = 0, below = 0, equal = 0;
  double p_two_sided = 1.0;
  bool operator==(const SignTest&) const = default;
};
[[nodiscard]] Result<SignTest> sign_test(std::span<const double> first, std::span<const double> second);

}  // namespace coldstroke::analysis::statistics
