// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <iterator>
#include <set>

#include "analysis/trial/metric.hpp"
#include "daq/setup/parse_parts.hpp"
#include "daq/setup/units.hpp"

namespace coldstroke::daq {
namespace {

using analysis::Criterion;
using Kind = Criterion::Kind;

constexpr double kHuge = 1e12;

/// What a metric is measured in, and the size of its own unit in SI: the last word of its name says both.
struct MetricUnit {
  std::string_view ending;
  Dimension dimension;
  double si = 1.0;
};
constexpr MetricUnit kMetricUnits[] = {
    {"_ampere2_seconds", Dimension::action},  {"_amperes", Dimension::current}, {"_metres", Dimension::length},
    {"_probability", Dimension::plain},       {"_radians", Dimension::angle},   {"_radians_per_second", Dimension::angular_rate},
    {"_newton_seconds", Dimension::impulse},  {"_seconds", Dimension::time},    {"_newtons", Dimension::force},
    {"_g", Dimension::acceleration, 9.80665}, {"_mps", Dimension::speed},       {"_pascals", Dimension::pressure},
    {"_joules", Dimension::energy},           {"_ratio", Dimension::plain},
};

const MetricUnit* unit_of(std::string_view metric) {
  const auto* found = std::ranges::find_if(kMetricUnits, [&](const MetricUnit& unit) { return metric.ends_with(unit.ending); });
  return found == std::end(kMetricUnits) ? nullptr : found;
}

std::string parse_metric_name(TableReader& table) {
  const std::string name = table.text("metric");
  if (name.empty() || std::ranges::find(analysis::kMetricNames, name) != std::end(analysis::kMetricNames)) return name;
  const std::vector<std::string> known(std::begin(analysis::kMetricNames), std::end(analysis::kMetricNames));
  std::string all;
  for (const std::string& one : known) all += (all.empty() ? "" : ", ") + one;
  const auto close = nearest(name, known);
  table.complain("metric", "\"" + name + "\" is not a metric" + (close ? ", did you mean " + *close + "?" : std::string{}),
                 "one of " + all);
  return "";
}

/// Factor from the written unit to the metric's own.
double parse_unit(TableReader& table, Dimension dimension, double own) {
  const std::string word = table.text("unit");
  const auto factor = to_si_factor(dimension, word);
  if (!factor && !word.empty()) table.complain("unit", "is \"" + word + "\"", "here one of " + unit_words(dimension));
  // Dividing only when it changes something keeps 65 g exactly 65.
  if (!factor) return 1.0;
  return *factor == own ? 1.0 : *factor / own;
}

void parse_metric_criterion(TableReader& table, Criterion& criterion) {
  criterion.metric = parse_metric_name(table);
  const MetricUnit* unit = unit_of(criterion.metric);
  const double factor = parse_unit(table, unit == nullptr ? Dimension::any : unit->dimension, unit == nullptr ? 1.0 : unit->si);
  criterion.lower = table.optional_number("lower", {-kHuge, kHuge});
  criterion.upper = table.optional_number("upper", {-kHuge, kHuge});
  if (!criterion.lower && !criterion.upper) {
    table.complain("", "has neither a lower nor an upper limit", "lower = NUMBER, upper = NUMBER or both");
  }
  if (criterion.lower && criterion.upper && *criterion.lower > *criterion.upper) {
    table.complain("lower", "is above upper", "lower at most upper");
  }
  if (criterion.lower) *criterion.lower *= factor;
  if (criterion.upper) *criterion.upper *= factor;
}

Criterion parse_criterion(TableReader& table) {
  Criterion criterion;
  criterion.name = table.text("name");
  const auto kind = table.choice<Kind>("kind", {{"metric", Kind::metric},
                                                {"detector_in_time", Kind::detector_in_time},
                                                {"no_lost_samples", Kind::no_lost_samples},
                                                {"nothing_saturated", Kind::nothing_saturated},
                                                {"alignment_within", Kind::alignment_within},
                                                {"would_fire", Kind::would_fire}});
  if (!kind) return criterion;  // which keys belong here is not known
  criterion.kind = *kind;
  if (criterion.kind == Kind::metric) {
    parse_metric_criterion(table, criterion);
  } else if (criterion.kind == Kind::alignment_within) {
    const double factor = parse_unit(table, Dimension::time, 1.0);
    criterion.upper = table.number("upper", {0.0, kHuge, true}) * factor;
  }
  table.refuse_unknown();
  return criterion;
}

}  // namespace

std::vector<Criterion> parse_criteria(TableReader& root) {
  std::vector<Criterion> criteria;
  std::set<std::string> names;
  // A trial that nothing is asked of would always pass, so at least one criterion is wanted.
  for (TableReader& table : root.tables("criterion", 1, 100)) {
    Criterion criterion = parse_criterion(table);
    if (!criterion.name.empty() && !names.insert(criterion.name).second) {
      table.complain("name", "\"" + criterion.name + "\" is the name of another criterion", "a name used once");
    }
    criteria.push_back(std::move(criterion));
  }
  return criteria;
}

}  // namespace coldstroke::daq
