// SPDX-License-Identifier: GPL-3.0-or-later
//
// The budgets against a Monte Carlo propagation of the same inputs (JCGM 101:2008 clause 7): standard uncertainty, and the ends
// of the 95 % interval.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>
#include <random>
#include <vector>

#include "analysis/trial/budget.hpp"

namespace coldstroke::analysis {
namespace {

struct Input {
  const char* name;
  double value, standard_uncertainty;
  Spread spread = Spread::normal;
};

struct Propagated {
  double mean = 0.0, standard_uncertainty = 0.0, low = 0.0, high = 0.0;
};

using Formula = std::function<double(const std::vector<double>&)>;

Propagated monte_carlo(const std::vector<Input>& inputs, const Formula& formula) {
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
Measured propagated(const std::vector<Input>& inputs, const Formula& formula) {
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

struct Case {
  const char* name;
  std::vector<Input> inputs;
  Formula formula;
};

TEST(MonteCarlo, BudgetsOfTheMetricsHold) {
  const std::vector<Case> cases{
      {"impulse",
       {{"gain", 1.0, 0.003}, {"integral", 23.1, 0.02}, {"vehicle", 1.5, 0.001}, {"piston", 0.1, 0.0005}},
       [](const std::vector<double>& x) { return x[0] * x[1] * x[2] / (x[2] + x[3]); }},
      {"exit speed from force",
       {{"gain", 1.0, 0.003}, {"integral", 23.1, 0.02}, {"vehicle", 1.5, 0.001}, {"piston", 0.1, 0.0005}},
       [](const std::vector<double>& x) { return x[0] * x[1] / (x[2] + x[3]); }},
      {"mean acceleration",
       {{"gain", 1.0, 0.005}, {"integral", 14.4, 0.01}, {"begin", 0.0, 20.0e-6}, {"end", 0.0387, 0.144e-3, Spread::rectangular}},
       [](const std::vector<double>& x) { return x[0] * x[1] / ((x[3] - x[2]) * 9.80665) + 1.0; }},
      {"latency",
       {{"decision", 0.046, 60.0e-6}, {"first motion", 0.040, 12.0e-6}, {"polling", -0.5e-3, 0.2887e-3, Spread::rectangular}},
       [](const std::vector<double>& x) { return x[0] + x[2] - x[1]; }},
      {"energy",
       {{"speed", 14.44, 0.045}, {"mass", 1.5, 0.001}, {"stroke", 0.3, 0.0003}},
       [](const std::vector<double>& x) { return x[1] * (0.5 * x[0] * x[0] + 9.80665 * x[2]); }},
      {"droop",
       {{"gain", 1.0, 0.0025}, {"before", 8.0e5, 10.0}, {"after", 4.5e5, 60.0}, {"lag", 1.0e-4, 0.577e-4, Spread::rectangular}},
       [](const std::vector<double>& x) { return x[0] * (x[1] - x[2] + 9.0e6 * x[3]); }}};
  for (const Case& c : cases) {
    const Propagated mc = monte_carlo(c.inputs, c.formula);
    const Measured budget = propagated(c.inputs, c.formula);
    std::printf("%-24s value %.6g  u budget %.4g  Monte Carlo %.4g  95 %% budget %.6g to %.6g  Monte Carlo %.6g to %.6g\n",
                c.name, budget.value, budget.standard_uncertainty, mc.standard_uncertainty, budget.low_95, budget.high_95, mc.low,
                mc.high);
    const double u = mc.standard_uncertainty;
    EXPECT_NEAR(budget.standard_uncertainty, u, 0.01 * u) << c.name;
    EXPECT_NEAR(budget.value, mc.mean, 0.02 * u) << c.name;
    // JCGM 101 clause 8: the interval's ends to half a unit of the first digit of u that is kept, here a twentieth of u.
    EXPECT_NEAR(budget.low_95, mc.low, 0.05 * u) << c.name;
    EXPECT_NEAR(budget.high_95, mc.high, 0.05 * u) << c.name;
  }
}

TEST(MonteCarlo, TheAdditiveExamplesOfJcgm101Hold) {
  // JCGM 101:2008 clause 9.2; its printed half widths 3.92, 3.88 and 17.0 (from memory).
  const Formula sum = [](const std::vector<double>& x) { return x[0] + x[1] + x[2] + x[3]; };
  const auto four = [](double last, Spread spread) {
    return std::vector<Input>{
        {"1", 0.0, 1.0, spread}, {"2", 0.0, 1.0, spread}, {"3", 0.0, 1.0, spread}, {"4", 0.0, last, spread}};
  };
  const auto half = [&](const std::vector<Input>& inputs) { return propagated(inputs, sum).high_95; };
  EXPECT_NEAR(half(four(1.0, Spread::normal)), 3.92, 0.01);
  EXPECT_NEAR(half(four(1.0, Spread::rectangular)), 3.88, 0.05);
  EXPECT_NEAR(half(four(10.0, Spread::rectangular)), 17.0, 0.05);
  EXPECT_NEAR(monte_carlo(four(10.0, Spread::rectangular), sum).high, 17.0, 0.05);
}

}  // namespace
}  // namespace coldstroke::analysis
