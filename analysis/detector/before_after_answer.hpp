// SPDX-License-Identifier: GPL-3.0-or-later
//
// Before and after in words: one sentence a range officer can read, and the numbers of every test under it.
#pragma once

#include <string>
#include <vector>

#include "analysis/detector/agreement.hpp"

namespace coldstroke::analysis {

struct BeforeAfterAnswer {
  std::string sentence;
  std::vector<std::string> numbers;  ///< one line a test; a test that had too little to work on gives its reason
};

/// `margin_seconds`: a shift of latency of at most this is of no consequence, > 0; fixed before the recordings were looked at.
/// Exact tests: Fisher on right and wrong of the silent recordings and of the must_fire ones, McNemar on the recordings that
/// changed sides, all and each kind by itself: gains on one kind and losses on the other are "mixed"; latency: Mann-Whitney with
/// Hodges-Lehmann, Welch, two one-sided tests, and the paired ones. Significance 5 %. Complaint: no must_fire recording; a bad
/// margin.
[[nodiscard]] Result<BeforeAfterAnswer> answer_before_after(const BeforeAfter& pairs, const std::string& before,
                                                            const std::string& after, double margin_seconds);

}  // namespace coldstroke::analysis
