// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/trace_columns.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace coldstroke::gui {
namespace {

// 1, 2 or 5 times a power of ten, not below `rough`.
double tick_step(double rough) {
  const double power = std::pow(10.0, std::floor(std::log10(rough)));
  for (const double digit : {1.0, 2.0, 5.0})
    if (digit * power >= rough * (1.0 - 1.0e-9)) return digit * power;
  return 10.0 * power;
}

}  // namespace

analysis::IndexRun samples_between(const analysis::Trace& trace, double from_seconds, double to_seconds) {
  const auto count = static_cast<double>(trace.samples.size());
  const double first = std::ceil((from_seconds - trace.start_seconds) / trace.period_seconds - 1.0e-9);
  const double last = std::floor((to_seconds - trace.start_seconds) / trace.period_seconds + 1.0e-9) + 1.0;
  const auto begin = static_cast<std::size_t>(std::clamp(first, 0.0, count));
  const auto end = static_cast<std::size_t>(std::clamp(last, 0.0, count));
  return {begin, std::max(begin, end)};
}

std::vector<Column> trace_columns(const analysis::Trace& trace, double from_seconds, double to_seconds, std::size_t count) {
  assert(from_seconds < to_seconds && count > 0);
  std::vector<Column> columns(count);
  const double columns_per_second = static_cast<double>(count) / (to_seconds - from_seconds);
  const analysis::IndexRun inside = samples_between(trace, from_seconds, to_seconds);
  for (std::size_t k = inside.first; k < inside.last; ++k) {
    const double sample = trace.samples[k];
    if (std::isnan(sample)) continue;
    const double at = (trace.start_seconds + static_cast<double>(k) * trace.period_seconds - from_seconds) * columns_per_second;
    Column& column = columns[std::min(count - 1, static_cast<std::size_t>(std::max(0.0, at)))];
    if (column.empty()) {
      column = {sample, sample};
    } else {
      column.low = std::min(column.low, sample);
      column.high = std::max(column.high, sample);
    }
  }
  return columns;
}

int AxisRange::decimals() const { return std::clamp(static_cast<int>(std::ceil(-std::log10(step) - 1.0e-9)), 0, 9); }

AxisRange axis_steps(double low, double high, int ticks) {
  if (!(high > low)) return axis_range(low, high, ticks);
  return {low, high, tick_step((high - low) / std::max(1, ticks))};
}

AxisRange axis_range(double low, double high, int ticks) {
  if (!std::isfinite(low) || !std::isfinite(high)) return {};
  if (low > high) std::swap(low, high);
  // A flat line gets room in proportion to its size, and at least a thousandth of the shown unit.
  const double least = std::max(1.0e-3, 0.02 * std::max(std::abs(low), std::abs(high)));
  if (high - low < least) {
    const double middle = 0.5 * (low + high);
    low = middle - 0.5 * least;
    high = middle + 0.5 * least;
  }
  const double step = tick_step((high - low) / std::max(1, ticks));
  // To quarters of a step: a little noise below zero must not cost a whole step of room.
  const double quarter = 0.25 * step;
  return {std::floor(low / quarter + 1.0e-9) * quarter, std::ceil(high / quarter - 1.0e-9) * quarter, step};
}

}  // namespace coldstroke::gui
