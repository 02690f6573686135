// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <utility>

#include "analysis/result.hpp"
#include "analysis/trial/budget.hpp"

namespace coldstroke::analysis {

/// A number on its way to a metric.
struct Number {
  double value = 0.0;
  Budget budget;
  std::string method;
  bool at_least = false;
};
using Made = Result<Number, Absent>;

[[nodiscard]] inline tl::unexpected<Absent> absent(std::string reason) {
  return tl::unexpected<Absent>{Absent{std::move(reason)}};
}

}  // namespace coldstroke::analysis
