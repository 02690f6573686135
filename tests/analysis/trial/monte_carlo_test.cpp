// SPDX-License-Identifier: GPL-3.0-or-later
//
// The budgets against a Monte Carlo propagation of the same inputs (JCGM 101:2008 clause 7): standard uncertainty, and the ends
// of the 95 % interval.
#include <gtest/gtest.h>

#include <cstdio>
#include <vector>

#include "tests/analysis/trial/monte_carlo.hpp"

namespace coldstroke::analysis {
namespace {

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

}  // namespace
}  // namespace coldstroke::analysis
