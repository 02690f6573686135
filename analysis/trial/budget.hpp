// SPDX-License-Identifier: GPL-3.0-or-later
//
// The uncertainty budget of one number: JCGM 100:2008 section 5, inputs independent of each other. An input that several
// numbers share keeps its name, so that the uncertainty of a difference can leave out what both have in common.
#pragma once

#include <string>
#include <vector>

#include "analysis/trial/metric.hpp"

namespace coldstroke::analysis {

enum class Spread { normal, rectangular };

class Budget {
 public:
  /// `standard_uncertainty` of the input in `unit`, `sensitivity` in the metric's unit a `unit`. Lines of no weight are dropped.
  /// An input that is in the number twice (same source and unit) is one line: its sensitivities add, with their signs.
  void add(std::string source, double standard_uncertainty, std::string unit, double sensitivity, Spread spread = Spread::normal);
  /// All sensitivities times `factor`: the budget of factor * value.
  [[nodiscard]] Budget scaled(double factor) const;
  [[nodiscard]] double standard_uncertainty() const;
  /// Half width of the 95 % interval: the largest rectangular line folded with everything else taken as normal. Pure normal: 1.96
  /// u.
  [[nodiscard]] double half_width_95() const;
  /// Largest line first.
  [[nodiscard]] Measured measured(double value, bool at_least = false) const;
  /// Standard uncertainty of a - b: lines of the same source and unit are fully correlated, the rest independent.
  [[nodiscard]] static double of_difference(const Budget& a, const Budget& b);

 private:
  struct Line {
    std::string source;
    double standard_uncertainty;
    std::string unit;
    double share;  ///< signed
    Spread spread;
  };
  std::vector<Line> lines_;
};

/// x at which a normal variable of standard deviation `sigma` plus a rectangular one of half width `half` lies within +-x with
/// probability `p`. Closed-form distribution, root by bracketing.
[[nodiscard]] double folded_half_width(double sigma, double half, double p);

}  // namespace coldstroke::analysis
