// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/comparison.hpp"

#include <cmath>
#include <limits>

#include "analysis/statistics/preconditions.hpp"
#include "analysis/statistics/wording.hpp"

namespace coldstroke::analysis::statistics {

namespace {

constexpr auto kWhere = "comparison of two configurations";

std::optional<Complaint> bad_side(const ComparedSide& side) {
  if (const auto fault = first_fault({impossible_counts(side.trials, side.hits, kWhere), unusable(side.values, 0, kWhere)}))
    return fault;
  if (static_cast<std::int64_t>(side.values.size()) > side.trials)
    return Complaint{side.label + " has more values than trials", kWhere, "give at most one value a trial"};
  return std::nullopt;
}

std::optional<Complaint> bad_request(const ComparisonRequest& request) {
  if (const auto fault = not_between_zero_and_one(request.confidence, "confidence", kWhere)) return fault;
  if (request.margin && !(std::isfinite(*request.margin) && *request.margin > 0.0))
    return Complaint{"a margin that is not above 0", kWhere, "set which shift is of no consequence, or leave it out"};
  return std::nullopt;
}

/// Values of all trials, those that never came at the far end.
std::vector<double> with_never_reached(const ComparedSide& side) {
  std::vector<double> all = side.values;
  all.resize(static_cast<std::size_t>(side.trials), std::numeric_limits<double>::infinity());
  return all;
}

Direction direction(double difference, double p, double significance) {
  if (p >= significance) return Direction::not_shown;
  return difference > 0.0 ? Direction::more : Direction::less;
}

template <class Test>
Result<Test> on_moments(const ComparedSide& first, const ComparedSide& second, auto test) {
  const Result<Moments> a = moments(first.values), b = moments(second.values);
  if (!a) return complain(first.label + ": " + a.error().what, a.error().where, a.error().remedy);
  if (!b) return complain(second.label + ": " + b.error().what, b.error().where, b.error().remedy);
  return test(*a, *b);
}

std::string in_unit(double value, const ComparisonRequest& request) {
  return significant(value, 3) + (request.unit.empty() ? "" : " " + request.unit);
}

std::string interval_words(const Interval& interval, const ComparisonRequest& request) {
  return percent(std::round(interval.confidence * 1000.0) / 1000.0) + ": " + significant(interval.low, 3) + " to " +
         in_unit(interval.high, request);
}

/// "6.0 ms smaller (95 %: 5.2 to 6.8 ms)": the sign is in the word, so the interval goes without it.
std::string sized_shift(const Shift& shift, bool larger, const ComparisonRequest& request) {
  Interval size = shift.interval;
  if (!larger) size = {-shift.interval.high, -shift.interval.low, shift.interval.confidence};
  return in_unit(std::abs(shift.estimate), request) + (larger ? " larger (" : " smaller (") + interval_words(size, request) + ")";
}

std::string hits_words(const ComparedSide& side) {
  return side.label + " decided in time in " + std::to_string(side.hits) + " of " + std::to_string(side.trials);
}

std::string detection_words(const Comparison& c, const ComparedSide& first, const ComparedSide& second) {
  std::string words = hits_words(first) + ", " + hits_words(second) + ": ";
  if (!c.detection) return words + "not compared";
  switch (c.detects) {
    case Direction::more:
      return words + first.label + " does so more often (" + probability(c.detection->p_two_sided) + ")";
    case Direction::less:
      return words + first.label + " does so less often (" + probability(c.detection->p_two_sided) + ")";
    case Direction::not_shown:
      return words + "no difference shown (" + probability(c.detection->p_two_sided) + ")";
  }
  return words;
}

std::string shift_words(const Comparison& c, const ComparedSide& first, const ComparisonRequest& request) {
  if (!c.order) return "its " + request.quantity + " is not compared: " + c.order.error().what;
  if (c.quantity == Direction::not_shown)
    return "no shift of the " + request.quantity + " shown (" + probability(c.order->p_two_sided) + ")";
  const std::string words = first.label + "'s " + request.quantity + " is ";
  const bool larger = c.quantity == Direction::more;
  if (c.order->shift) return words + sized_shift(*c.order->shift, larger, request);
  return words + (larger ? "larger (" : "smaller (") + probability(c.order->p_two_sided) + ")";
}

std::string sameness_words(const Comparison& c, const ComparisonRequest& request) {
  if (!request.margin) return "whether the " + request.quantity + " is the same was not tested, as no margin was set";
  const std::string margin = " within " + in_unit(*request.margin, request);
  if (!c.equivalence)
    return "whether the " + request.quantity + " is the same" + margin + " cannot be told: " + c.equivalence.error().what;
  return "where they decided, the " + request.quantity +
         (c.equivalence->equivalent ? " is the same" : " is not shown to be the same") + margin + " (" +
         probability(c.equivalence->p_value) + ")";
}

template <class T>
void add_line(std::vector<std::string>& lines, const std::string& name, const Result<T>& result, auto words) {
  lines.push_back(name + ": " + (result ? words(*result) : "none, " + result.error().what));
}

void add_order(std::vector<std::string>& lines, const std::string& name, const auto& order, const ComparisonRequest& request) {
  add_line(lines, name, order, [](const auto& test) {
    return std::string{"two-sided "} + probability(test.p_two_sided) + (test.exact ? ", exact" : ", normal approximation");
  });
  if (order)
    add_line(lines, "Hodges-Lehmann shift", order->shift, [&](const Shift& shift) {
      return in_unit(shift.estimate, request) + " (" + interval_words(shift.interval, request) + ")";
    });
}

void add_means(std::vector<std::string>& lines, const std::string& name, const Result<MeanDifference>& means,
               const ComparisonRequest& request) {
  add_line(lines, name, means, [&](const MeanDifference& d) {
    return "difference " + in_unit(d.difference, request) + " (" + interval_words(d.interval, request) +
           "), t = " + significant(d.t, 4) + " with " + significant(d.freedom, 4) + " degrees of freedom, " +
           probability(d.p_two_sided);
  });
}

void add_numbers(Comparison& c, const ComparisonRequest& request) {
  add_line(c.numbers, "Decided in time, Fisher exact", c.detection, [](const FisherExact& test) {
    return "two-sided " + probability(test.p_two_sided) + ", first more often " + probability(test.p_greater);
  });
  add_line(c.numbers, "Difference of shares, Newcombe", c.detection_difference,
           [](const Interval& i) { return percent(i.confidence) + ": " + fixed(i.low, 3) + " to " + fixed(i.high, 3); });
  add_order(c.numbers, "Order with every trial, Mann-Whitney", c.order, request);
  add_means(c.numbers, "Means where reached, Welch", c.means, request);
  add_line(c.numbers, "Sameness within the margin, two one-sided tests", c.equivalence,
           [](const Equivalence& e) { return probability(e.p_value) + (e.equivalent ? ", the same" : ", not shown"); });
}

}  // namespace

Result<Comparison> compare_configurations(const ComparedSide& first, const ComparedSide& second,
                                          const ComparisonRequest& request) {
  if (const auto fault = first_fault({bad_side(first), bad_side(second), bad_request(request)})) return refuse(*fault);
  const Share a{first.hits, first.trials}, b{second.hits, second.trials};
  const double significance = 1.0 - request.confidence;
  const auto welch = [&](Moments x, Moments y) { return compare_means(x, y, request.confidence); };
  const auto same = [&](Moments x, Moments y) -> Result<Equivalence> {
    if (!request.margin) return complain("no margin was set beforehand", kWhere, "set which shift is of no consequence");
    return show_equivalence(x, y, {-*request.margin, *request.margin}, significance);
  };
  Comparison out{.detection = fisher_exact(a, b),
                 .detection_difference = share_difference(a, b, request.confidence),
                 .order = mann_whitney(with_never_reached(first), with_never_reached(second), request.confidence),
                 .means = on_moments<MeanDifference>(first, second, welch),
                 .equivalence = on_moments<Equivalence>(first, second, same),
                 .sentence = {},
                 .numbers = {}};
  if (out.detection) {
    const auto cross =
        static_cast<double>(a.hits) * static_cast<double>(b.trials) - static_cast<double>(b.hits) * static_cast<double>(a.trials);
    out.detects = direction(cross, out.detection->p_two_sided, significance);
  }
  if (out.order) out.quantity = direction(out.order->p_less - out.order->p_greater, out.order->p_two_sided, significance);
  out.sentence =
      detection_words(out, first, second) + "; " + shift_words(out, first, request) + "; " + sameness_words(out, request) + ".";
  add_numbers(out, request);
  return out;
}

namespace {

/// What both reached, and on how many stimuli only one did.
struct Matched {
  std::vector<double> first, second;
  std::int64_t only_first = 0, only_second = 0, neither = 0;
  std::optional<std::size_t> worst;
};

Matched match(const PairedSides& sides) {
  Matched out;
  double furthest = -std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < sides.first.size(); ++k) {
    const auto &a = sides.first[k], &b = sides.second[k];
    if (a && b) {
      out.first.push_back(*a);
      out.second.push_back(*b);
      if (*a - *b > furthest) {
        furthest = *a - *b;
        out.worst = k;
      }
    } else {
      ++(a ? out.only_first : b ? out.only_second : out.neither);
    }
  }
  return out;
}

std::optional<Complaint> bad_pairs(const PairedSides& sides) {
  if (const auto fault = unpaired(sides.first.size(), sides.second.size(), kWhere)) return fault;
  if (sides.first.empty()) return Complaint{"no stimulus", kWhere, "give both the same stimuli"};
  for (const auto* side : {&sides.first, &sides.second})
    for (const auto& value : *side)
      if (value && !std::isfinite(*value))
        return Complaint{"a value that is not a number", kWhere, "leave the value out where nothing was reached"};
  return std::nullopt;
}

std::string paired_sentence(const PairedSides& sides, const PairedComparison& c, const Matched& matched,
                            const ComparisonRequest& request) {
  const double significance = 1.0 - request.confidence;
  std::string words = "Stimuli given to both: " + std::to_string(sides.first.size()) + "; decided by " + sides.first_label +
                      " alone: " + std::to_string(matched.only_first) + ", by " + sides.second_label +
                      " alone: " + std::to_string(matched.only_second);
  if (c.outcomes)
    words += c.outcomes->p_two_sided < significance ? " (" + probability(c.outcomes->p_two_sided) + ")"
                                                    : ", no difference shown (" + probability(c.outcomes->p_two_sided) + ")";
  if (!c.order) return words + "; the " + request.quantity + " is not compared: " + c.order.error().what + ".";
  if (c.order->p_two_sided >= significance)
    return words + "; no shift of the " + request.quantity + " shown (" + probability(c.order->p_two_sided) + ").";
  words += "; where both decided, " + sides.first_label + "'s " + request.quantity + " is ";
  const bool larger = c.order->p_greater < c.order->p_less;
  return words + (c.order->shift ? sized_shift(*c.order->shift, larger, request) : larger ? "larger" : "smaller") + ".";
}

}  // namespace

Result<PairedComparison> compare_on_same_stimuli(const PairedSides& sides, const ComparisonRequest& request) {
  if (const auto fault = first_fault({bad_pairs(sides), bad_request(request)})) return refuse(*fault);
  const Matched matched = match(sides);
  PairedComparison out{.outcomes = mcnemar(matched.only_first, matched.only_second),
                       .signs = sign_test(matched.first, matched.second),
                       .order = signed_rank(matched.first, matched.second, request.confidence),
                       .means = compare_paired_means(matched.first, matched.second, request.confidence),
                       .worst = matched.worst,
                       .sentence = {},
                       .numbers = {}};
  out.sentence = paired_sentence(sides, out, matched, request);
  add_line(out.numbers, "Decided by one alone, McNemar exact", out.outcomes, [&](const PairedOutcomes& test) {
    return std::to_string(test.only_first) + " against " + std::to_string(test.only_second) + ", " +
           probability(test.p_two_sided) + ", by neither " + std::to_string(matched.neither);
  });
  add_line(out.numbers, "Sign test", out.signs, [](const SignTest& test) {
    return std::to_string(test.above) + " above, " + std::to_string(test.below) + " below, " + std::to_string(test.equal) +
           " equal, " + probability(test.p_two_sided);
  });
  add_order(out.numbers, "Signed ranks, Wilcoxon", out.order, request);
  add_means(out.numbers, "Paired means, t", out.means, request);
  return out;
}

}  // namespace coldstroke::analysis::statistics
