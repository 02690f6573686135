// SPDX-License-Identifier: GPL-3.0-or-later
//
// The worked examples of the guide (JCGM 100) and of its Monte Carlo supplement (JCGM 101), through the project's own budget and
// its own Monte Carlo propagation.
//
// A budget takes inputs as independent and knows no correlation coefficients. Inputs that are correlated are brought in as sums
// of independent ones, which share their names: lines of one name add with their signs. Its first order is the guide's own; what
// only shows in the second (9.3, 9.4) it misses as the guide's framework does, and these tests hold it to exactly that. Not
// checked: 9.5, whose inputs are of t and curvilinear trapezoidal distributions, which a budget does not have; 9.4.3, correlated
// inputs of the second order.
#include <gtest/gtest.h>

#include <Eigen/Cholesky>
#include <cmath>
#include <string>
#include <vector>

#include "analysis/signal/level.hpp"
#include "tests/analysis/trial/monte_carlo.hpp"
#include "tests/published/check_values.hpp"

namespace coldstroke::analysis {
namespace {

using nlohmann::json;
using published::check;
using published::expect_near;

const json& file() { return published::loaded("uncertainty.json"); }

/// Mean readings with the covariance of the means, from readings taken at the same time.
struct Readings {
  std::vector<double> mean, u;
  Eigen::MatrixXd covariance;
};

Readings readings_of(const std::vector<std::vector<double>>& columns) {
  const auto count = static_cast<double>(columns.front().size());
  const auto size = static_cast<Eigen::Index>(columns.size());
  Readings out;
  out.covariance = Eigen::MatrixXd::Zero(size, size);
  for (const auto& column : columns) out.mean.push_back(level(column).mean);
  for (Eigen::Index a = 0; a < size; ++a)
    for (Eigen::Index b = 0; b < size; ++b) {
      const auto i = static_cast<std::size_t>(a), k = static_cast<std::size_t>(b);
      for (std::size_t n = 0; n < columns[i].size(); ++n)
        out.covariance(a, b) += (columns[i][n] - out.mean[i]) * (columns[k][n] - out.mean[k]) / (count * (count - 1.0));
    }
  for (Eigen::Index a = 0; a < size; ++a) out.u.push_back(std::sqrt(out.covariance(a, a)));
  return out;
}

/// By sensitivities, through the Cholesky factor of the covariance: x = mean + L z with independent z of standard deviation 1.
Budget budget_of(const Readings& x, const std::vector<double>& sensitivities) {
  const Eigen::MatrixXd factor = x.covariance.llt().matrixL();
  Budget out;
  for (Eigen::Index i = 0; i < factor.rows(); ++i)
    for (Eigen::Index k = 0; k <= i; ++k)
      out.add("independent " + std::to_string(k), 1.0, "1", sensitivities[static_cast<std::size_t>(i)] * factor(i, k));
  return out;
}

double correlation(const Budget& a, const Budget& b) {
  const double u = a.standard_uncertainty(), v = b.standard_uncertainty();
  return (u * u + v * v - std::pow(Budget::of_difference(a, b), 2)) / (2.0 * u * v);
}

// By the guide's first approach (H.2.3): mean readings, their covariances, the sensitivities at the means.
TEST(Guide, SimultaneousResistanceAndReactanceThroughTheBudget) {
  const json item = check(file(), "gum-h2"), &in = item.at("inputs"), &want = item.at("expected");
  const Readings x = readings_of({in.at("V_V"), in.at("I_A"), in.at("phi_rad")});
  const double v = x.mean[0], i = x.mean[1], phi = x.mean[2], z = v / i, c = std::cos(phi), s = std::sin(phi);
  const Budget resistance = budget_of(x, {c / i, -z * c / i, -z * s}), reactance = budget_of(x, {s / i, -z * s / i, z * c}),
               impedance = budget_of(x, {1.0 / i, -z / i, 0.0});
  const double values = item.at("tolerance").at("abs_values"), u = item.at("tolerance").at("abs_u"),
               r = item.at("tolerance").at("abs_r");
  const auto near = [&](const char* name, double computed, double tolerance) {
    expect_near(item, name, computed, want.at(name), tolerance);
  };
  near("R_ohm", z * c, values);
  near("X_ohm", z * s, values);
  near("Z_ohm", z, values);
  near("u_R", resistance.standard_uncertainty(), u);
  near("u_X", reactance.standard_uncertainty(), u);
  near("u_Z", impedance.standard_uncertainty(), u);
  near("r_RX", correlation(resistance, reactance), r);
  near("r_RZ", correlation(resistance, impedance), r);
  near("r_XZ", correlation(reactance, impedance), r);
  // The same readings taken for independent: not what the guide prints, and the budget alone would not notice.
  Budget independent;
  independent.add("V", x.u[0], "V", 1.0 / i);
  independent.add("I", x.u[1], "A", -z / i);
  EXPECT_NEAR(independent.standard_uncertainty(), z * std::hypot(x.u[0] / v, x.u[1] / i), 1.0e-9);
  EXPECT_GT(std::abs(independent.standard_uncertainty() - want.at("u_Z").get<double>()), 10.0 * u);
}

TEST(Supplement, SumsOfNormalAndOfRectangularInputs) {
  for (const char* id : {"jcgm101-9-2-2", "jcgm101-9-2-3", "jcgm101-9-2-4"}) {
    const json item = check(file(), id), &in = item.at("inputs");
    std::vector<Input> inputs;
    static constexpr const char* kNames[] = {"1", "2", "3", "4"};
    for (std::size_t k = 0; k < 4; ++k)
      inputs.push_back({kNames[k], 0.0, in.at("u")[k], in.at("spread") == "normal" ? Spread::normal : Spread::rectangular});
    const Formula sum = [](const std::vector<double>& x) { return x[0] + x[1] + x[2] + x[3]; };
    const Measured budget = propagated(inputs, sum);
    const Propagated drawn = monte_carlo(inputs, sum);
    expect_near(item, "u", budget.standard_uncertainty);
    expect_near(item, "budget_half_95", budget.high_95);
    expect_near(item, "monte_carlo_half_95", 0.5 * (drawn.high - drawn.low));
    EXPECT_NEAR(drawn.standard_uncertainty, budget.standard_uncertainty, 0.005 * budget.standard_uncertainty) << id;
  }
}

TEST(Supplement, MassCalibration) {
  const json item = check(file(), "jcgm101-9-3"), &in = item.at("inputs");
  const auto normal = [&](const char* name) { return Input{name, in.at(name)[0], in.at(name)[1]}; };
  const auto between = [&](const char* name) {
    const double low = in.at(name)[0], high = in.at(name)[1];
    return Input{name, 0.5 * (low + high), (high - low) / std::sqrt(12.0), Spread::rectangular};
  };
  const std::vector<Input> inputs{normal("reference_mg"), normal("difference_mg"), between("air_kg_per_m3"),
                                  between("weight_kg_per_m3"), between("reference_kg_per_m3")};
  const double nominal = in.at("nominal_mg"), air = in.at("air_0_kg_per_m3");
  const Formula formula = [=](const std::vector<double>& x) {
    return (x[0] + x[1]) * (1.0 + (x[2] - air) * (1.0 / x[3] - 1.0 / x[4])) - nominal;
  };
  const Measured budget = propagated(inputs, formula);
  expect_near(item, "first_order_mg", budget.value);
  expect_near(item, "first_order_u", budget.standard_uncertainty);
  expect_near(item, "first_order_low", budget.low_95);
  expect_near(item, "first_order_high", budget.high_95);
  const Propagated drawn = monte_carlo(inputs, formula);
  expect_near(item, "monte_carlo_mg", drawn.mean);
  expect_near(item, "monte_carlo_u", drawn.standard_uncertainty);
  // Its place wanders by 0.003 mg between seeds, its length does not.
  expect_near(item, "monte_carlo_length", drawn.high - drawn.low);
}

TEST(Supplement, ComparisonLossNearItsMinimum) {
  for (const char* id : {"jcgm101-9-4-000", "jcgm101-9-4-010", "jcgm101-9-4-050"}) {
    const json item = check(file(), id), &in = item.at("inputs");
    const std::vector<Input> inputs{{"x1", in.at("x1"), in.at("u")}, {"x2", 0.0, in.at("u")}};
    const Formula formula = [](const std::vector<double>& x) { return x[0] * x[0] + x[1] * x[1]; };
    const Measured budget = propagated(inputs, formula);
    expect_near(item, "first_order", budget.value);
    expect_near(item, "first_order_u", budget.standard_uncertainty);
    const Propagated drawn = monte_carlo(inputs, formula);
    expect_near(item, "monte_carlo", drawn.mean);
    expect_near(item, "monte_carlo_u", drawn.standard_uncertainty);
  }
}

}  // namespace
}  // namespace coldstroke::analysis
