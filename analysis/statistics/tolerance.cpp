// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/tolerance.hpp"

#include <array>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/non_central_t.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/quadrature/gauss.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <cstdint>
#include <vector>

#include "analysis/statistics/preconditions.hpp"
#include "analysis/statistics/wording.hpp"

namespace coldstroke::analysis::statistics {

namespace bm = boost::math;

namespace {

constexpr std::size_t kMostValues = 100'000;
constexpr int kTwoEnds = 2;

std::optional<Complaint> bad(std::size_t n, Content content, const char* where) {
  if (const auto fault = first_fault({not_between_zero_and_one(content.share, "share", where),
                                      not_between_zero_and_one(content.confidence, "confidence", where)}))
    return fault;
  if (n < 2) return Complaint{"fewer than two values have no scatter", where, "record more trials"};
  if (n > kMostValues) return Complaint{"more than 100 000 values", where, "take a part of them"};
  return std::nullopt;
}

/// r with Phi(z + r) - Phi(z - r) = share: half the width, in standard deviations, around a centre that is off by z.
double half_width(double z, double share) {
  const bm::normal unit;
  // Above its upper bound the interval holds the share on one side alone.
  const double low = bm::quantile(unit, 0.5 * (1.0 + share)), high = low + std::abs(z);
  const auto miss = [&](double r) {
    const double held = bm::cdf(unit, z + r) - bm::cdf(unit, z - r);
    return std::make_pair(held - share, bm::pdf(unit, z + r) + bm::pdf(unit, z - r));
  };
  std::uintmax_t steps = 100;
  return bm::tools::newton_raphson_iterate(miss, 0.5 * (low + high), low, high, 50, steps);
}

/// A place of the centre's error and its weight in the integral over the normal density, folded to one side.
struct Node {
  double half_width_squared, weight;
};

std::vector<Node> nodes(std::size_t n, double share) {
  using Rule = bm::quadrature::gauss<double, 30>;
  constexpr std::array<double, 4> kEdges{0.0, 2.5, 5.0, 9.0};  // beyond 9 the density is below 1e-18
  const bm::normal unit;
  const double root = std::sqrt(static_cast<double>(n));
  std::vector<Node> out;
  for (std::size_t panel = 0; panel + 1 < kEdges.size(); ++panel) {
    const double middle = 0.5 * (kEdges[panel] + kEdges[panel + 1]), half = 0.5 * (kEdges[panel + 1] - kEdges[panel]);
    for (std::size_t k = 0; k < Rule::abscissa().size(); ++k)
      for (const double sign : {-1.0, 1.0}) {
        const double u = middle + sign * half * Rule::abscissa()[k], r = half_width(u / root, share);
        out.push_back({r * r, 2.0 * half * Rule::weights()[k] * bm::pdf(unit, u)});
      }
  }
  return out;
}

double howe(std::size_t n, Content content) {
  const double count = static_cast<double>(n), freedom = count - 1.0;
  return bm::quantile(bm::normal{}, 0.5 * (1.0 + content.share)) *
         std::sqrt(freedom * (1.0 + 1.0 / count) / bm::quantile(bm::chi_squared{freedom}, 1.0 - content.confidence));
}

/// P(at most n - beyond of n values inside) = chance that the values `beyond` ranks in hold at least `share`.
double reached(std::size_t n, std::size_t beyond, double share) {
  return bm::cdf(bm::binomial{static_cast<double>(n), share}, static_cast<double>(n - beyond));
}

/// The largest `beyond` that still reaches the confidence; 0 if none does.
std::size_t most_beyond(std::size_t n, Content content) {
  std::size_t beyond = 0;
  while (beyond < n && reached(n, beyond + 1, content.share) >= content.confidence * (1.0 - 1.0e-12)) ++beyond;
  return beyond;
}

std::size_t smallest_count(Content content, int ends) {
  const auto least = static_cast<std::size_t>(ends);
  std::size_t n = least;
  while (n < kMostValues && reached(n, least, content.share) < content.confidence * (1.0 - 1.0e-12)) {
    // Steps that double until the edge is near would save little: the walk ends below a few thousand for real goals.
    ++n;
  }
  return n;
}

Complaint too_few(std::size_t n, Content content, int ends, const char* where) {
  const std::size_t needed = smallest_count(content, ends);
  std::string remedy = "record " + std::to_string(needed) + " trials";
  if (ends == 1)
    remedy += ", or state the share that " + std::to_string(n) +
              " support: " + fixed(std::pow(1.0 - content.confidence, 1.0 / static_cast<double>(n)), 3, Rounding::down);
  return {std::to_string(n) + " values are too few for a limit without an assumed shape at " + percent(content.share) + " / " +
              percent(content.confidence),
          where, remedy};
}

}  // namespace

Result<double> one_sided_factor(std::size_t n, Content content) {
  constexpr auto kWhere = "one-sided tolerance factor";
  if (const auto fault = bad(n, content, kWhere)) return refuse(*fault);
  return guarded(kWhere, [&] {
    const double root = std::sqrt(static_cast<double>(n));
    const double offset = bm::quantile(bm::normal{}, content.share) * root;
    return bm::quantile(bm::non_central_t{static_cast<double>(n) - 1.0, offset}, content.confidence) / root;
  });
}

Result<double> howe_factor(std::size_t n, Content content) {
  constexpr auto kWhere = "two-sided tolerance factor (Howe)";
  if (const auto fault = bad(n, content, kWhere)) return refuse(*fault);
  return guarded(kWhere, [&] { return howe(n, content); });
}

Result<double> two_sided_factor(std::size_t n, Content content) {
  constexpr auto kWhere = "two-sided tolerance factor";
  if (const auto fault = bad(n, content, kWhere)) return refuse(*fault);
  return guarded(kWhere, [&] {
    const double freedom = static_cast<double>(n) - 1.0;
    const bm::chi_squared chi{freedom};
    const std::vector<Node> places = nodes(n, content.share);
    const auto miss = [&](double k) {
      double sum = 0.0;
      for (const Node& node : places)
        sum += node.weight * bm::cdf(bm::complement(chi, freedom * node.half_width_squared / (k * k)));
      return sum - content.confidence;
    };
    std::uintmax_t steps = 100;
    const auto [low, high] =
        bm::tools::bracket_and_solve_root(miss, howe(n, content), 1.1, true, bm::tools::eps_tolerance<double>{44}, steps);
    return 0.5 * (low + high);
  });
}

Result<std::size_t> one_sided_order(std::size_t n, Content content) {
  constexpr auto kWhere = "distribution-free limit";
  if (const auto fault = bad(n, content, kWhere)) return refuse(*fault);
  const std::size_t beyond = most_beyond(n, content);
  if (beyond == 0) return refuse(too_few(n, content, 1, kWhere));
  return beyond;
}

Result<std::size_t> two_sided_order(std::size_t n, Content content) {
  constexpr auto kWhere = "distribution-free interval";
  if (const auto fault = bad(n, content, kWhere)) return refuse(*fault);
  const std::size_t each = most_beyond(n, content) / 2;  // an odd one out is given to neither end
  if (each == 0) return refuse(too_few(n, content, kTwoEnds, kWhere));
  return each;
}

Result<double> confidence_reached(std::size_t n, std::size_t beyond, double share) {
  constexpr auto kWhere = "confidence of a distribution-free limit";
  if (const auto fault = not_between_zero_and_one(share, "share", kWhere)) return refuse(*fault);
  if (n == 0 || beyond == 0 || beyond > n)
    return complain("a rank outside the values", kWhere, "count from 1 to the number of values");
  return reached(n, beyond, share);
}

Result<std::size_t> values_needed(Content content, int ends) {
  constexpr auto kWhere = "values needed for a distribution-free limit";
  if (const auto fault = bad(2, content, kWhere)) return refuse(*fault);
  if (ends != 1 && ends != kTwoEnds) return complain("an interval with neither one nor two ends", kWhere, "ask for 1 or 2");
  const std::size_t n = smallest_count(content, ends);
  if (n >= kMostValues) return complain("more than 100 000 values would be needed", kWhere, "ask for a smaller share");
  return n;
}

Result<double> confidence_for_each(double joint, std::size_t statements) {
  constexpr auto kWhere = "confidence for several statements";
  if (const auto fault = not_between_zero_and_one(joint, "joint confidence", kWhere)) return refuse(*fault);
  if (statements == 0) return complain("no statement", kWhere, "count at least one");
  return 1.0 - (1.0 - joint) / static_cast<double>(statements);
}

}  // namespace coldstroke::analysis::statistics
