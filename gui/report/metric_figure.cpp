// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/metric_figure.hpp"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <map>
#include <set>

#include "gui/report/figures.hpp"
#include "gui/report/trace_columns.hpp"

namespace coldstroke::gui {
namespace {

using analysis::MetricEvidence;

constexpr double kTop = 24.0, kBottom = 206.0;             // values
constexpr double kRangeTop = 228.0, kRangeBottom = 290.0;  // how far each lies from the one before
constexpr double kHeight = 324.0;
constexpr double kLeft = 62.0, kRight = 690.0;             // the chart
constexpr double kShapeLeft = 760.0, kShapeRight = 990.0;  // the values by size

struct Axis {
  AxisRange range;
  [[nodiscard]] double y(double value) const {
    return kBottom - (kBottom - kTop) * (value - range.low) / (range.high - range.low);
  }
};

/// Widened where all trials have an uncertainty in common.
std::vector<double> tolerance_limits(const MetricEvidence& metric) {
  std::vector<double> limits;
  if (!metric.limit || !metric.limit->chosen) return limits;
  const auto& report = *metric.limit;
  for (const auto& [widened, plain] :
       {std::pair{report.lower_widened, report.chosen->lower}, std::pair{report.upper_widened, report.chosen->upper}})
    if (plain) limits.push_back(widened.value_or(*plain));
  return limits;
}

Axis axis_for(const MetricEvidence& metric) {
  double low = std::ranges::min(metric.values), high = std::ranges::max(metric.values);
  const auto take = [&](double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  };
  if (metric.chart) {
    take(metric.chart->lower_limit);
    take(metric.chart->upper_limit);
  }
  for (const double limit : tolerance_limits(metric)) take(limit);
  const double room = 0.06 * (high - low);
  return {axis_steps(low - room, high + room, 5)};
}

void draw_level(Figure& figure, const Axis& axis, double value, const std::string& name, Ink ink, bool dashed) {
  figure.line(kLeft, axis.y(value), kRight, axis.y(value), ink, 1.2, dashed);
  figure.words(kRight + 4.0, axis.y(value) + 4.0, name, Anchor::start, false, ink);
}

/// Its name stands above the chart, so that it meets neither values nor the names of the chart's own limits.
void draw_tolerance(Figure& figure, const Axis& axis, const std::vector<double>& limits) {
  std::string name;
  for (const double value : limits) {
    figure.line(kLeft, axis.y(value), kRight, axis.y(value), Ink::limit, 1.2);
    name += (name.empty() ? "solid line: tolerance limit " : " and ") + significant(value, 4);
  }
  figure.words(kRight, 14.0, name, Anchor::end, false, Ink::limit);
}

std::set<std::size_t> flagged_values(const MetricEvidence& metric) {
  std::set<std::size_t> flagged;
  if (metric.chart)
    for (const auto& signal : metric.chart->signals) flagged.insert(signal.point);
  if (metric.outliers)
    for (std::size_t k = 0; k < metric.outliers->flagged; ++k) flagged.insert(metric.outliers->steps[k].place);
  return flagged;
}

std::string verdict_of(const analysis::EvidenceTrial& trial) {
  return trial.record.verdict == analysis::statistics::CountedVerdict::fail ? "fail" : "pass";
}

/// Trial numbers from left to right.
struct TrialAxis {
  double first, last;
  explicit TrialAxis(const MetricEvidence& metric)
      : first{static_cast<double>(metric.places.front()) + 0.3}, last{static_cast<double>(metric.places.back()) + 1.7} {}
  [[nodiscard]] double x(double number) const { return kLeft + (kRight - kLeft) * (number - first) / (last - first); }
  [[nodiscard]] double of(std::size_t place) const { return x(static_cast<double>(place + 1)); }
};

void draw_trial_numbers(Figure& figure, const TrialAxis& trials) {
  const double step = std::max(1.0, axis_steps(trials.first, trials.last, 12).step);
  for (double tick = std::ceil(trials.first / step) * step; tick <= trials.last; tick += step)
    figure.words(trials.x(tick), kRangeBottom + 16.0, decimal(tick, 0), Anchor::middle);
  figure.words(kRight, kRangeBottom + 31.0, "trial", Anchor::end);
}

/// Moving ranges with their limit, under the values they belong to.
void draw_ranges(Figure& figure, const TrialAxis& trials, const MetricEvidence& metric) {
  figure.words(kLeft, kRangeTop - 6.0, "distance to the value before", Anchor::start, false, Ink::muted);
  figure.line(kLeft, kRangeBottom, kRight, kRangeBottom, Ink::grid, 0.6, false, "grid");
  figure.words(kLeft - 6.0, kRangeBottom + 4.0, "0", Anchor::end);
  if (!metric.chart) return;
  const auto& chart = *metric.chart;
  const double most = std::max(chart.moving_range_limit, std::ranges::max(chart.moving_ranges));
  const auto y = [&](double range) { return kRangeBottom - (kRangeBottom - kRangeTop) * range / most; };
  const double limit = y(chart.moving_range_limit);
  figure.line(kLeft, limit, kRight, limit, Ink::muted, 1.2, true, "range limit");
  figure.words(kRight + 4.0, limit + 4.0, "limit", Anchor::start, false, Ink::muted);
  figure.words(kLeft - 6.0, limit + 4.0, significant(chart.moving_range_limit, 2), Anchor::end);
  for (std::size_t k = 0; k < chart.moving_ranges.size(); ++k) {
    const bool above = std::ranges::find(chart.ranges_signalled, k + 1) != chart.ranges_signalled.end();
    figure.parts.emplace_back(FigureDot{trials.of(metric.places[k + 1]), y(chart.moving_ranges[k]), "pass", above});
  }
}

void draw_chart(Figure& figure, const Axis& axis, const MetricEvidence& metric,
                const std::vector<analysis::EvidenceTrial>& trials) {
  const TrialAxis numbers{metric};
  draw_trial_numbers(figure, numbers);
  draw_ranges(figure, numbers, metric);
  if (metric.chart) {
    draw_level(figure, axis, metric.chart->centre, "mean", Ink::muted, false);
    draw_level(figure, axis, metric.chart->upper_limit, "+3σ", Ink::muted, true);
    draw_level(figure, axis, metric.chart->lower_limit, "−3σ", Ink::muted, true);
  }
  draw_tolerance(figure, axis, tolerance_limits(metric));
  FigureLine path{{}, Ink::grid, 1.0, false, "path"};
  for (std::size_t k = 0; k < metric.values.size(); ++k)
    path.points.push_back({numbers.of(metric.places[k]), axis.y(metric.values[k])});
  figure.parts.emplace_back(path);
  const auto flagged = flagged_values(metric);
  for (std::size_t k = 0; k < metric.values.size(); ++k)
    figure.parts.emplace_back(
        FigureDot{path.points[k].x, path.points[k].y, verdict_of(trials[metric.places[k]]), flagged.contains(k)});
}

/// Plotting positions (i - 3/8) / (n + 1/4), Blom 1958.
void draw_shape(Figure& figure, const Axis& axis, const MetricEvidence& metric) {
  std::vector<double> sorted = metric.values;
  std::ranges::sort(sorted);
  const auto n = static_cast<double>(sorted.size());
  const auto quantile = [](double part) { return boost::math::quantile(boost::math::normal{}, part); };
  const double reach = std::max(1.0, -quantile(0.625 / (n + 0.25)) * 1.15);  // a single value stands in the middle
  const auto x = [&](double z) { return kShapeLeft + (kShapeRight - kShapeLeft) * (z + reach) / (2.0 * reach); };
  for (double z = -2.0; z <= 2.0; z += 1.0)
    if (std::abs(z) < reach) {
      figure.line(x(z), kTop, x(z), kBottom, Ink::grid, 0.6, false, "grid");
      figure.words(x(z), kBottom + 16.0, decimal(z, 0), Anchor::middle);
    }
  figure.words(kShapeRight, kBottom + 31.0, "quantile of a normal shape, σ", Anchor::end);
  if (metric.limit && metric.limit->description.standard_deviation > 0.0) {
    const auto& about = metric.limit->description;
    const auto at = [&](double z) {
      return std::clamp(about.mean + z * about.standard_deviation, axis.range.low, axis.range.high);
    };
    FigureLine line{{}, Ink::muted, 1.0, true, "normal"};
    for (int step = 0; step <= 40; ++step) {
      const double z = -reach + 2.0 * reach * step / 40.0;
      if (about.mean + z * about.standard_deviation == at(z)) line.points.push_back({x(z), axis.y(at(z))});
    }
    figure.parts.emplace_back(line);
  }
  for (std::size_t k = 0; k < sorted.size(); ++k)
    figure.parts.emplace_back(
        FigureDot{x(quantile((static_cast<double>(k) + 0.625) / (n + 0.25))), axis.y(sorted[k]), "pass", false});
}

std::string p_words(double p) { return p < 0.001 ? std::string{"p below 0.001"} : "p = " + decimal(p, 3); }

/// Of the trials that these values are from.
std::string trial_names(const MetricEvidence& metric, const std::vector<std::size_t>& values) {
  std::vector<std::int64_t> numbers;
  numbers.reserve(values.size());
  for (const std::size_t value : values) numbers.push_back(static_cast<std::int64_t>(metric.places[value]) + 1);
  std::ranges::sort(numbers);
  return number_stretches(numbers);
}

template <class Test, class Say>
void say(std::vector<std::string>& lines, const char* what, const Result<Test>& test, Say&& words) {
  if (test)
    lines.push_back(std::string{what} + ": " + words(*test));
  else
    lines.push_back(std::string{what} + ": not to be had: " + test.error().what);
}

std::string chart_words(const MetricEvidence& metric, const analysis::statistics::ControlChart& chart) {
  std::string text = "mean " + significant(chart.centre, 4) + ", limits " + significant(chart.lower_limit, 4) + " to " +
                     significant(chart.upper_limit, 4) + " " + metric.asked.limit.unit + " (3 x mean moving range / 1.128). ";
  text += "Largest distance to the value before " + significant(std::ranges::max(chart.moving_ranges), 3) + ", limit " +
          significant(chart.moving_range_limit, 3) + " " + metric.asked.limit.unit + ". ";
  if (!chart.ranges_signalled.empty())
    text += "Look at trial " + trial_names(metric, chart.ranges_signalled) + " (far from the one before). ";
  if (chart.signals.empty()) return text + "No run rule speaks.";
  std::map<std::string, std::vector<std::size_t>> by_rule;
  for (const auto& signal : chart.signals) by_rule[analysis::statistics::word(signal.rule)].push_back(signal.point);
  std::string looks;
  for (const auto& [rule, points] : by_rule)
    looks += (looks.empty() ? "Look at " : "; ") + trial_names(metric, points) + " (" + rule + ")";
  return text + looks + ". Nothing was removed.";
}

std::string trend_words(const MetricEvidence& metric, const analysis::statistics::Trend& trend) {
  return "slope over these trials " + significant(trend.change_over_range.low, 3) + " to " +
         significant(trend.change_over_range.high, 3) + " " + metric.asked.limit.unit + " (95 % interval), " +
         p_words(trend.p_value) + (trend.p_value < 0.05 ? ": it drifts." : ": no drift shown.");
}

}  // namespace

Figure drift_figure(const MetricEvidence& metric, const std::vector<analysis::EvidenceTrial>& trials) {
  Figure figure;
  figure.height = kHeight;
  const std::string name = metric.asked.limit.quantity + ", " + metric.asked.limit.unit;
  figure.label = name + " by trial, and by size against a normal shape";
  figure.words(kLeft, 14.0, name, Anchor::start, true);
  if (metric.values.empty()) {
    figure.words(kLeft, 60.0, "No counted trial has a value.", Anchor::start, false, Ink::muted);
    figure.height = 80.0;
    return figure;
  }
  const Axis axis = axis_for(metric);
  for (double tick = std::ceil(axis.range.low / axis.range.step - 1.0e-9) * axis.range.step;
       tick <= axis.range.high + 1.0e-9 * axis.range.step; tick += axis.range.step) {
    figure.line(kLeft, axis.y(tick), kRight, axis.y(tick), Ink::grid, 0.6, false, "grid");
    figure.line(kShapeLeft, axis.y(tick), kShapeRight, axis.y(tick), Ink::grid, 0.6, false, "grid");
    figure.words(kLeft - 6.0, axis.y(tick) + 4.0, decimal(tick, axis.range.decimals()), Anchor::end);
  }
  draw_chart(figure, axis, metric, trials);
  draw_shape(figure, axis, metric);
  return figure;
}

std::vector<std::string> drift_sentences(const MetricEvidence& metric) {
  std::vector<std::string> lines;
  const std::string& unit = metric.asked.limit.unit;
  say(lines, "Limit", metric.limit, [](const auto& limit) { return limit.sentence + " " + limit.why; });
  say(lines, "Both sides", metric.both_sides, [](const auto& limit) { return limit.sentence; });
  say(lines, "Chart", metric.chart, [&](const auto& chart) { return chart_words(metric, chart); });
  say(lines, "Trend by trial", metric.by_number, [&](const auto& trend) { return trend_words(metric, trend); });
  say(lines, "Trend by time", metric.by_time, [&](const auto& trend) { return trend_words(metric, trend); });
  const auto correlation = [](const auto& one) {
    return "r = " + decimal(one.coefficient, 2) + ", " + p_words(one.p_value) + (one.p_value < 0.05 ? ": it goes with it." : ".");
  };
  say(lines, "With charge pressure", metric.with_charge, correlation);
  say(lines, "With temperature", metric.with_temperature, correlation);
  say(lines, "Order", metric.runs, [](const auto& runs) {
    return std::to_string(runs.runs) + " runs about the median, " + decimal(runs.expected, 1) + " expected, " +
           p_words(runs.p_value) + ".";
  });
  say(lines, "Independence", metric.dependence, [](const auto& one) {
    return "lag-one " + decimal(one.lag_one, 2) +
           (one.suspected ? ": values lean on their neighbours, so every limit promises too much."
                          : ", below the " + decimal(one.threshold, 2) + " that would be suspect.");
  });
  say(lines, "Apart from the rest", metric.outliers, [&](const auto& test) {
    if (test.flagged == 0) return std::string{"no value (generalised extreme studentised deviates, 5 %)."};
    std::vector<std::size_t> values;
    for (std::size_t k = 0; k < test.flagged; ++k) values.push_back(test.steps[k].place);
    return "trial " + trial_names(metric, values) + " (generalised extreme studentised deviates, 5 %). Labelled, not removed.";
  });
  say(lines, "Days", metric.days, [&](const auto& days) {
    return std::to_string(days.groups.size()) + " days; " + p_words(days.means.p_value) +
           " for equal means; scatter within a day " + significant(days.within_deviation, 3) + " " + unit +
           ", between days beyond that " + significant(days.between_deviation, 3) + " " + unit + ".";
  });
  return lines;
}

}  // namespace coldstroke::gui
