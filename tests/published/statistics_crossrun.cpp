// SPDX-License-Identifier: GPL-3.0-or-later
//
// Writes 300 random cases with what our statistics make of them, as JSON on standard output, for
// scipy_statistics_crossrun.py to compute again with SciPy. Argument: seed.
#include <algorithm>
#include <boost/math/constants/constants.hpp>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <nlohmann/json.hpp>
#include <random>
#include <vector>

#include "analysis/statistics/between_days.hpp"
#include "analysis/statistics/control_chart.hpp"
#include "analysis/statistics/demonstration.hpp"
#include "analysis/statistics/mean_comparison.hpp"
#include "analysis/statistics/normality.hpp"
#include "analysis/statistics/outlier.hpp"
#include "analysis/statistics/rank_comparison.hpp"
#include "analysis/statistics/share_comparison.hpp"
#include "analysis/statistics/tolerance.hpp"
#include "analysis/statistics/trend.hpp"

namespace coldstroke::analysis::statistics {
namespace {

using nlohmann::json;

constexpr int kCases = 300;

/// Numbers that are the same on every machine: the standard's engine, our own shaping.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : engine_{seed} {}
  double unit() { return (static_cast<double>(engine_() >> 11) + 0.5) * 0x1.0p-53; }
  std::int64_t whole(std::int64_t low, std::int64_t high) {
    return low + static_cast<std::int64_t>(unit() * static_cast<double>(high - low + 1));
  }
  double normal() { return std::sqrt(-2.0 * std::log(unit())) * std::cos(boost::math::constants::two_pi<double>() * unit()); }

 private:
  std::mt19937_64 engine_;
};

/// Normal, skewed, or rounded so that values repeat.
std::vector<double> draw(Dice& dice, std::size_t n, int shape, double shift) {
  std::vector<double> out(n);
  for (double& x : out) {
    x = shape == 1 ? -std::log(dice.unit()) : 10.0 + dice.normal();
    x += shift;
    if (shape == 2) x = std::round(4.0 * x) / 4.0;
  }
  return out;
}

void add_shift(json& out, const std::string& name, const Result<Shift>& shift) {
  out[name] = {shift.value().estimate, shift.value().interval.low, shift.value().interval.high,
               shift.value().interval.confidence};
}

json demonstrate(Dice& dice) {
  const double r = 0.5 + 0.495 * dice.unit(), c = 0.5 + 0.495 * dice.unit();
  const std::int64_t k = dice.whole(0, 5), n = dice.whole(k + 1, 300), other = dice.whole(1, 80);
  const std::int64_t hits = dice.whole(0, n), other_hits = dice.whole(0, other);
  const FisherExact fisher = fisher_exact({hits, n}, {other_hits, other}).value();
  const Interval share = share_interval(hits, n, c).value(),
                 difference = share_difference({hits, n}, {other_hits, other}, c).value();
  return {{"in", {{"r", r}, {"c", c}, {"k", k}, {"n", n}, {"hits", hits}, {"other", other}, {"other_hits", other_hits}}},
          {"trials_needed", trials_needed({r, c}, k).value()},
          {"reliability_shown", reliability_shown(n, k, c).value().at_least},
          {"pass_probability", pass_probability({n, k}, r).value()},
          {"share_interval", {share.low, share.high}},
          {"fisher", {fisher.p_two_sided, fisher.p_greater, fisher.p_less}},
          {"share_difference", {difference.low, difference.high}},
          {"mcnemar", mcnemar(k, other_hits).value().p_two_sided}};
}

json limits(Dice& dice) {
  const auto n = static_cast<std::size_t>(dice.whole(2, 120));
  const Content content{0.5 + 0.495 * dice.unit(), 0.5 + 0.495 * dice.unit()};
  const auto one = one_sided_order(n, content), two = two_sided_order(n, content);
  return {{"in", {{"n", n}, {"share", content.share}, {"confidence", content.confidence}}},
          {"one_sided_factor", one_sided_factor(n, content).value()},
          {"two_sided_factor", two_sided_factor(n, content).value()},
          {"howe_factor", howe_factor(n, content).value()},
          {"one_sided_order", one ? *one : 0},
          {"two_sided_order", two ? *two : 0},
          {"grubbs_critical", n < 3 ? 0.0 : grubbs_critical(n, OutlierSide::either, 0.05).value()}};
}

json one_sample(const std::vector<double>& x, double c) {
  const Interval mean = mean_interval(x, c).value(), deviation = deviation_interval(x, c).value();
  const ControlChart chart = control_chart(x, RuleSet::nelson).value();
  const AndersonDarling ad = anderson_darling(x).value();
  const ShapiroWilk sw = shapiro_wilk(x).value();
  return {{"mean_interval", {mean.low, mean.high}},
          {"deviation_interval", {deviation.low, deviation.high}},
          {"lag_one", lag_one_autocorrelation(x).value()},
          {"control_limits", {chart.lower_limit, chart.upper_limit}},
          {"anderson_darling", ad.statistic},
          {"shapiro_wilk", {sw.statistic, sw.p_value}}};
}

json two_samples(const std::vector<double>& x, const std::vector<double>& y, double c) {
  const Moments a = moments(x).value(), b = moments(y).value();
  const MeanDifference welch = compare_means(a, b, c).value(), pooled = compare_means(a, b, c, Scatter::pooled).value();
  const Equivalence same = show_equivalence(a, b, {-0.7, 0.9}).value();
  const MannWhitney order = mann_whitney(x, y, c).value();
  json out{{"welch", {welch.t, welch.freedom, welch.p_two_sided, welch.interval.low, welch.interval.high}},
           {"pooled", {pooled.t, pooled.p_two_sided}},
           {"equivalence", {same.p_above_low, same.p_below_high}},
           {"mann_whitney", {order.u_first, order.p_two_sided, order.p_greater, order.p_less}},
           {"mann_whitney_exact", order.exact}};
  add_shift(out, "mann_whitney_shift", order.shift);
  return out;
}

json pairs(const std::vector<double>& x, const std::vector<double>& y, double c) {
  const Trend trend = find_trend(x, y, c).value();
  const Correlation r = pearson(x, y).value(), rho = spearman(x, y).value();
  const Interval of_r = pearson_interval(x, y, c).value();
  const MeanDifference means = compare_paired_means(x, y, c).value();
  const SignedRank order = signed_rank(x, y, c).value();
  json out{{"trend",
            {trend.slope, trend.intercept, trend.slope_standard_error, trend.intercept_standard_error, trend.p_value,
             trend.explained}},
           {"pearson", {r.coefficient, r.p_value, of_r.low, of_r.high}},
           {"spearman", {rho.coefficient, rho.p_value}},
           {"spearman_exact", rho.exact},
           {"paired_t", {means.t, means.p_two_sided, means.interval.low, means.interval.high}},
           {"signed_rank", {order.v, order.p_two_sided, order.p_greater, order.p_less}},
           {"signed_rank_exact", order.exact},
           {"sign_test", sign_test(x, y).value().p_two_sided}};
  add_shift(out, "signed_rank_shift", order.shift);
  return out;
}

json days(Dice& dice, int shape) {
  std::vector<std::vector<double>> groups;
  for (std::int64_t left = dice.whole(2, 5); left > 0; --left)
    groups.push_back(draw(dice, static_cast<std::size_t>(dice.whole(3, 12)), shape, 0.3 * dice.unit()));
  const BetweenDays out = compare_days(groups).value();
  return {{"in", groups},
          {"anova", {out.means.f, out.means.p_value}},
          {"levene", {out.scatters.value().f, out.scatters.value().p_value}}};
}

json one_case(Dice& dice, int number) {
  const int shape = number % 3;
  const auto n = static_cast<std::size_t>(dice.whole(6, number % 10 == 0 ? 70 : 30));
  const std::vector<double> x = draw(dice, n, shape, 0.0), y = draw(dice, n, shape, 0.8 * dice.unit()),
                            z = draw(dice, static_cast<std::size_t>(dice.whole(4, 40)), shape, 0.8 * dice.unit());
  const double c = 0.8 + 0.19 * dice.unit();
  return {{"x", x},
          {"y", y},
          {"z", z},
          {"c", c},
          {"demonstration", demonstrate(dice)},
          {"limits", limits(dice)},
          {"one_sample", one_sample(x, c)},
          {"two_samples", two_samples(x, z, c)},
          {"pairs", pairs(x, y, c)},
          {"days", days(dice, shape)}};
}

}  // namespace
}  // namespace coldstroke::analysis::statistics

int main(int count, char** words) {
  const std::uint64_t seed = count > 1 ? std::strtoull(words[1], nullptr, 10) : 1;
  coldstroke::analysis::statistics::Dice dice{seed};
  nlohmann::json out{{"seed", seed}, {"cases", nlohmann::json::array()}};
  for (int k = 0; k < coldstroke::analysis::statistics::kCases; ++k)
    out["cases"].push_back(coldstroke::analysis::statistics::one_case(dice, k));
  std::cout << out.dump() << "\n";
  return std::cout.good() ? 0 : 1;
}
