// SPDX-License-Identifier: GPL-3.0-or-later
//
// The same inputs brought through a formula twice: by drawing them (JCGM 101:2008 clause 7), and by the project's budget.
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>
#include <vector>

#include "analysis/trial/budget.hpp"

namespace coldstroke::analysis {

struct Input {
  const char* name;
  double value, standard_uncertainty;
  Spread spread = Spread::normal;
};

struct Propagated {
  double mean = 0.0, standard_uncertainty = 0.0, low = 0.0, high = 0.0;
};

using Formula = std::function<double(const std::vector<double>&)>;

inline Propagated monte_carlo(const std::vector<Input>& inputs, const Formula& formula) {
  constexpr std::size_t kDraws = 400'000;
  std::mt19937_64 random{20261125};
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> even{-1.0, 1.0};
  std::vector<double> out, x(inputs.size());
  for (std::size_t d = 0; d < kDraws; ++d) {
    for (std::size_t i = 0; i < inputs.size(); ++i)
      x[i] = inputs[i].value + inputs[i].standard_uncertainty *
                                   (inputs[i].spread == Spread::normal ? normal(random) : std::sqrt(3.0) * even(random));
    out.push_back(formula(x));
  }
  Propagated p;
  for (const double y : out) p.mean += y / kDraws;
  for (const double y : out) p.standard_uncertainty += (y - p.mean) * (y - p.mean) / (kDraws - 1.0);
  p.standard_uncertainty = std::sqrt(p.standard_uncertainty);
  std::sort(out.begin(), out.end());
  p.low = out[kDraws * 25 / 1000];
  p.high = out[kDraws * 975 / 1000];
  return p;
}

/// The budget with sensitivities by central differences of the same formula.
inline Measured propagated(const std::vector<Input>& inputs, const Formula& formula) {
  Budget budget;
  std::vector<double> x;
  for (const Input& input : inputs) x.push_back(input.value);
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    std::vector<double> up = x, down = x;
    const double step = 1.0e-3 * inputs[i].standard_uncertainty;
    up[i] += step;
    down[i] -= step;
    budget.add(inputs[i].name, inputs[i].standard_uncertainty, "1", (formula(up) - formula(down)) / (2.0 * step),
               inputs[i].spread);
  }
  return budget.measured(formula(x));
}

}  // namespace coldstroke::analysis
