// SPDX-License-Identifier: GPL-3.0-or-later
//
// What no statistic can use, said once. Every public function of this folder asks here before it computes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <exception>
#include <initializer_list>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <type_traits>

#include "analysis/result.hpp"

namespace coldstroke::analysis::statistics {

/// Fewer than `least` values, or a value that is not finite. `where` names the calculation.
[[nodiscard]] std::optional<Complaint> unusable(std::span<const double> values, std::size_t least, std::string_view where);
/// A reliability, share, confidence or significance that is not strictly between 0 and 1.
[[nodiscard]] std::optional<Complaint> not_between_zero_and_one(double value, std::string_view name, std::string_view where);
/// No trials, a negative count, or more failures than trials.
[[nodiscard]] std::optional<Complaint> impossible_counts(std::int64_t trials, std::int64_t failures, std::string_view where);
/// All values equal: a scatter that nothing can be divided by.
[[nodiscard]] std::optional<Complaint> without_scatter(std::span<const double> values, std::string_view where);
/// Two lists that should go together and have different lengths.
[[nodiscard]] std::optional<Complaint> unpaired(std::size_t first, std::size_t second, std::string_view where);

/// The first that is set. Note that all of them are evaluated.
[[nodiscard]] std::optional<Complaint> first_fault(std::initializer_list<std::optional<Complaint>> faults);

[[nodiscard]] inline tl::unexpected<Complaint> refuse(const Complaint& complaint) { return tl::unexpected<Complaint>{complaint}; }

/// Runs `compute`, which calls Boost.Math; what that library throws becomes a complaint.
template <class Compute>
[[nodiscard]] auto guarded(std::string_view where, Compute compute) -> Result<std::invoke_result_t<Compute>> {
  try {
    return compute();
  } catch (const std::exception& thrown) {
    return complain("the calculation did not come to a number: " + std::string{thrown.what()}, std::string{where},
                    "look for counts, shares or values far outside what a bench gives");
  }
}

}  // namespace coldstroke::analysis::statistics
