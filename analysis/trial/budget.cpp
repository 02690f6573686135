// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/budget.hpp"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

namespace coldstroke::analysis {
namespace {
constexpr double kProbability = 0.95;
}

double folded_half_width(double sigma, double half, double p) {
  const boost::math::normal standard;
  const double normal_only = boost::math::quantile(standard, 0.5 + 0.5 * p);
  if (!(half > 1.0e-6 * sigma)) return normal_only * sigma;
  if (!(sigma > 1.0e-6 * half)) return p * half;
  // Integral of the normal distribution function, from minus infinity.
  const auto area = [&](double z) { return z * boost::math::cdf(standard, z) + boost::math::pdf(standard, z); };
  const auto excess = [&](double x) { return sigma / half * (area((x + half) / sigma) - area((x - half) / sigma)) - 1.0 - p; };
  std::uintmax_t tries = 100;
  const auto [low, high] =
      boost::math::tools::toms748_solve(excess, 0.0, half + 8.0 * sigma, boost::math::tools::eps_tolerance<double>(40), tries);
  return 0.5 * (low + high);
}

void Budget::add(std::string source, double standard_uncertainty, std::string unit, double sensitivity, Spread spread) {
  const double share = sensitivity * standard_uncertainty;
  if (!(std::abs(share) > 0.0) || !std::isfinite(share)) return;
  for (Line& line : lines_)
    if (line.source == source && line.unit == unit) {
      line.share += share;
      return;
    }
  lines_.push_back({std::move(source), standard_uncertainty, std::move(unit), share, spread});
}

Budget Budget::scaled(double factor) const {
  Budget out = *this;
  for (Line& line : out.lines_) line.share *= factor;
  return out;
}

double Budget::standard_uncertainty() const {
  double squares = 0.0;
  for (const Line& line : lines_) squares += line.share * line.share;
  return std::sqrt(squares);
}

double Budget::half_width_95() const {
  const Line* widest = nullptr;
  for (const Line& line : lines_)
    if (line.spread == Spread::rectangular && (widest == nullptr || std::abs(line.share) > std::abs(widest->share)))
      widest = &line;
  double squares = 0.0;
  for (const Line& line : lines_)
    if (&line != widest) squares += line.share * line.share;
  return folded_half_width(std::sqrt(squares), widest != nullptr ? std::abs(widest->share) * std::sqrt(3.0) : 0.0, kProbability);
}

Measured Budget::measured(double value, bool at_least) const {
  Measured out;
  out.value = value;
  out.standard_uncertainty = standard_uncertainty();
  const double half = half_width_95();
  out.low_95 = value - half;
  out.high_95 = value + half;
  out.at_least = at_least;
  for (const Line& line : lines_) out.budget.push_back({line.source, line.standard_uncertainty, line.unit, std::abs(line.share)});
  std::stable_sort(out.budget.begin(), out.budget.end(),
                   [](const Contribution& a, const Contribution& b) { return a.share > b.share; });
  return out;
}

double Budget::of_difference(const Budget& a, const Budget& b) {
  double squares = 0.0;
  std::vector<bool> used(b.lines_.size(), false);
  for (const Line& line : a.lines_) {
    double share = line.share;
    for (std::size_t i = 0; i < b.lines_.size(); ++i)
      if (!used[i] && b.lines_[i].source == line.source && b.lines_[i].unit == line.unit) {
        share -= b.lines_[i].share;
        used[i] = true;
        break;
      }
    squares += share * share;
  }
  for (std::size_t i = 0; i < b.lines_.size(); ++i)
    if (!used[i]) squares += b.lines_[i].share * b.lines_[i].share;
  return std::sqrt(squares);
}

}  // namespace coldstroke::analysis
