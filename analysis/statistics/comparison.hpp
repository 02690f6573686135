// SPDX-License-Identifier: GPL-3.0-or-later
//
// Two configurations (before and after, old and new) compared: one sentence a range officer can read, the numbers under it.
// docs/statistics.md, "Comparison".
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/statistics/mean_comparison.hpp"
#include "analysis/statistics/rank_comparison.hpp"
#include "analysis/statistics/share_comparison.hpp"

namespace coldstroke::analysis::statistics {

/// One configuration's judged trials. `values` holds the quantity of the trials that have it; the others never reached it.
struct ComparedSide {
  std::string label;        ///< "firmware 3f9c"
  std::int64_t trials = 0;  ///< judged
  std::int64_t hits = 0;    ///< decided in time
  std::vector<double> values;
  bool operator==(const ComparedSide&) const = default;
};

/// Fixed before the trials.
struct ComparisonRequest {
  double confidence = 0.95;          ///< of the intervals; 1 - confidence is the significance of the tests
  std::optional<double> margin{};    ///< a shift of at most this is of no consequence; none: sameness is not tested
  std::string quantity = "latency";  ///< for the sentence
  std::string unit{};                ///< of values and margin
};

/// What may be said of the difference first - second.
enum class Direction { more, less, not_shown };

struct Comparison {
  Result<FisherExact> detection;
  Result<Interval> detection_difference;      ///< of the shares decided in time
  Result<MannWhitney> order;                  ///< with every trial: never reached ranks last
  Result<MeanDifference> means;               ///< Welch, of the values alone
  Result<Equivalence> equivalence;            ///< of the values alone; a complaint without a margin
  Direction detects = Direction::not_shown;   ///< by Fisher, two-sided
  Direction quantity = Direction::not_shown;  ///< by Mann-Whitney, two-sided
  std::string sentence;
  std::vector<std::string> numbers;  ///< one line a test, with the reason where there is none
};

/// Refuses sides without trials, more hits or values than trials, values that are not finite, and a bad confidence or margin.
/// Whatever a side has too few of is absent in the comparison, with its reason.
[[nodiscard]] Result<Comparison> compare_configurations(const ComparedSide& first, const ComparedSide& second,
                                                        const ComparisonRequest& request);

/// The same stimuli given to both, in the same order. Nothing: never reached.
struct PairedSides {
  std::string first_label, second_label;
  std::vector<std::optional<double>> first, second;
};

struct PairedComparison {
  Result<PairedOutcomes> outcomes;  ///< reached by one alone
  Result<SignTest> signs;           ///< these three: of the stimuli that both reached
  Result<SignedRank> order;
  Result<MeanDifference> means;
  std::optional<std::size_t> worst;  ///< stimulus on which the first is furthest above the second
  std::string sentence;
  std::vector<std::string> numbers;
};

/// Refuses lists of different length or without a stimulus, and values that are not finite.
[[nodiscard]] Result<PairedComparison> compare_on_same_stimuli(const PairedSides& sides, const ComparisonRequest& request);

}  // namespace coldstroke::analysis::statistics
