// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/statistics/limit.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/statistics/preconditions.hpp"
#include "analysis/statistics/wording.hpp"

namespace coldstroke::analysis::statistics {

namespace {

constexpr auto kWhere = "tolerance limit";
constexpr std::size_t kLeastForAndersonDarling = 8;

Result<Limit> normal_limit(std::span<const double> judged, const LimitRequest& request) {
  const std::size_t n = judged.size();
  const Result<double> factor =
      request.side == LimitSide::both ? two_sided_factor(n, request.content) : one_sided_factor(n, request.content);
  if (!factor) return refuse(factor.error());
  const Description d = *describe(judged);
  const auto back = [&](double x) { return request.on_log_scale ? std::exp(x) : x; };
  Limit out{.method = request.on_log_scale ? LimitMethod::log_normal : LimitMethod::normal,
            .lower = std::nullopt,
            .upper = std::nullopt,
            .factor = *factor,
            .rank = 0,
            .confidence = request.content.confidence};
  if (request.side != LimitSide::upper) out.lower = back(d.mean - *factor * d.standard_deviation);
  if (request.side != LimitSide::lower) out.upper = back(d.mean + *factor * d.standard_deviation);
  return out;
}

/// What was never reached lies beyond the limit on the bad side: above an upper limit, below a lower one.
Result<Limit> free_limit(std::span<const double> values, const LimitRequest& request) {
  const std::size_t n = values.size() + request.never_reached;
  const bool both = request.side == LimitSide::both;
  const Result<std::size_t> rank = both ? two_sided_order(n, request.content) : one_sided_order(n, request.content);
  if (!rank) return refuse(rank.error());
  if (*rank <= request.never_reached)
    return complain("the limit falls among the " + counted(static_cast<std::int64_t>(request.never_reached), "trial") +
                        " in which the " + request.quantity + " was never reached: there is none",
                    kWhere, "find out why it was not reached; more trials of the same thing bring no limit");
  std::vector<double> sorted{values.begin(), values.end()};
  std::ranges::sort(sorted);
  Limit out{.method = LimitMethod::distribution_free,
            .lower = std::nullopt,
            .upper = std::nullopt,
            .factor = 0.0,
            .rank = *rank,
            .confidence = *confidence_reached(n, both ? 2 * *rank : *rank, request.content.share)};
  // Two-sided, a trial that never came about takes the place of an extreme value at the upper end.
  const std::size_t inside = *rank - 1 - request.never_reached;
  if (request.side == LimitSide::upper || both) out.upper = sorted[sorted.size() - 1 - inside];
  if (request.side == LimitSide::lower) out.lower = sorted[inside];
  if (both) out.lower = sorted[*rank - 1];
  return out;
}

/// Why the normal limit may not be used; empty if it may.
std::string against_normal(const LimitReport& report, const LimitRequest& request, double deviation) {
  if (request.never_reached > 0)
    return counted(static_cast<std::int64_t>(request.never_reached), "trial") +
           " never reached it, and a normal limit would leave them out";
  if (request.resolution > 0.5 * deviation)
    return "one step of the channel (" + significant(request.resolution, 2) + ") is more than half the scatter (" +
           significant(deviation, 2) + "), so the shape cannot be judged";
  const bool many = report.description.count >= kLeastForAndersonDarling;
  const auto p = many ? report.anderson_darling.map([](const AndersonDarling& test) { return test.p_value; })
                      : report.shapiro_wilk.map([](const ShapiroWilk& test) { return test.p_value; });
  if (!p) return "the shape could not be judged: " + p.error().what;
  if (*p >= request.normality_significance) return {};
  return std::string{"the values contradict a "} + (request.on_log_scale ? "log-normal" : "normal") + " shape (" +
         (many ? "Anderson-Darling " : "Shapiro-Wilk ") + probability(*p) + ")";
}

void choose(LimitReport& report, const LimitRequest& request, double deviation) {
  const std::string against = against_normal(report, request, deviation);
  const std::string shape = request.on_log_scale ? "log-normal" : "normal";
  if (against.empty()) {
    report.chosen = report.normal;
    const bool many = report.description.count >= kLeastForAndersonDarling;
    report.why = "A " + shape + " shape is assumed: no evidence against it (" +
                 (many ? "Anderson-Darling " + probability(report.anderson_darling->p_value)
                       : "Shapiro-Wilk " + probability(report.shapiro_wilk->p_value)) +
                 "), which is not evidence for it.";
  } else {
    report.chosen = report.distribution_free;
    report.why = "No shape is assumed: " + against + ".";
  }
}

std::string limit_sentence(const LimitReport& report, const LimitRequest& request) {
  const std::string unit = request.unit.empty() ? "" : " " + request.unit;
  if (!report.chosen)
    return "No limit of the " + request.quantity + ": " + report.chosen.error().what + "; " + report.chosen.error().remedy + ".";
  const bool vowel =
      !request.quantity.empty() && std::string_view{"aeiou"}.find(request.quantity.front()) != std::string_view::npos;
  const std::string article = vowel ? "an " : "a ";
  std::string words = "With " + percent(request.content.confidence) + " confidence at least " + percent(request.content.share) +
                      " of ejections have " + article + request.quantity + " ";
  const auto low = [&] {
    return significant(*(report.lower_widened ? report.lower_widened : report.chosen->lower), 3, Rounding::down);
  };
  const auto high = [&] {
    return significant(*(report.upper_widened ? report.upper_widened : report.chosen->upper), 3, Rounding::up);
  };
  if (request.side == LimitSide::upper) words += "of at most " + high();
  if (request.side == LimitSide::lower) words += "of at least " + low();
  if (request.side == LimitSide::both) words += "between " + low() + " and " + high();
  words += unit + " (" + counted(static_cast<std::int64_t>(report.description.count + request.never_reached), "trial") + ", " +
           word(report.chosen->method);
  if (request.common_expanded_uncertainty > 0.0)
    words += ", widened by " + significant(request.common_expanded_uncertainty, 2, Rounding::up) + unit +
             " for what all trials have in common";
  return words + ").";
}

std::optional<Complaint> bad_request(std::span<const double> values, const LimitRequest& request) {
  if (const auto fault = first_fault({not_between_zero_and_one(request.content.share, "share", kWhere),
                                      not_between_zero_and_one(request.content.confidence, "confidence", kWhere),
                                      not_between_zero_and_one(request.normality_significance, "significance", kWhere),
                                      unusable(values, 3, kWhere), without_scatter(values, kWhere)}))
    return fault;
  const bool sizes_good = std::isfinite(request.resolution) && request.resolution >= 0.0 &&
                          std::isfinite(request.common_expanded_uncertainty) && request.common_expanded_uncertainty >= 0.0;
  if (!sizes_good) return Complaint{"a resolution or an uncertainty below zero", kWhere, "give 0 where it is not known"};
  if (request.on_log_scale && std::ranges::any_of(values, [](double x) { return x <= 0.0; }))
    return Complaint{"a value that is not above zero has no logarithm", kWhere, "judge this quantity on its own scale"};
  return std::nullopt;
}

}  // namespace

const char* word(LimitMethod method) {
  switch (method) {
    case LimitMethod::normal:
      return "normal";
    case LimitMethod::log_normal:
      return "log-normal";
    case LimitMethod::distribution_free:
      return "distribution-free";
  }
  return "";
}

Result<LimitReport> find_limit(std::span<const double> values, const LimitRequest& request) {
  if (const auto fault = bad_request(values, request)) return refuse(*fault);
  std::vector<double> judged{values.begin(), values.end()};
  if (request.on_log_scale) std::ranges::transform(judged, judged.begin(), [](double x) { return std::log(x); });
  LimitReport report{.description = *describe(values),
                     .anderson_darling = anderson_darling(judged),
                     .shapiro_wilk = shapiro_wilk(judged),
                     .normal = normal_limit(judged, request),
                     .distribution_free = free_limit(values, request),
                     .chosen = complain("not chosen", kWhere, ""),
                     .why = {},
                     .lower_widened = std::nullopt,
                     .upper_widened = std::nullopt,
                     .sentence = {}};
  choose(report, request, report.description.standard_deviation);
  if (report.chosen && request.common_expanded_uncertainty > 0.0) {
    if (report.chosen->lower) report.lower_widened = *report.chosen->lower - request.common_expanded_uncertainty;
    if (report.chosen->upper) report.upper_widened = *report.chosen->upper + request.common_expanded_uncertainty;
  }
  report.sentence = limit_sentence(report, request);
  return report;
}

}  // namespace coldstroke::analysis::statistics
