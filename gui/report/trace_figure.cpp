// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/trace_figure.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/trial/filtered_trace.hpp"
#include "gui/report/figures.hpp"
#include "gui/report/trace_columns.hpp"

namespace coldstroke::gui {
namespace {

using analysis::Trace;

// All in SVG user units, one a CSS pixel at full width.
constexpr double kWidth = 1000.0, kLeft = 64.0, kRight = 988.0, kMarkRow = 16.0, kTop = 64.0, kRowHeight = 104.0, kGap = 18.0;
constexpr std::size_t kColumns = 924;

Ink trace_ink(analysis::Role role) {
  switch (role) {
    case analysis::Role::force:
      return Ink::force;
    case analysis::Role::supply_pressure:
      return Ink::supply;
    case analysis::Role::chamber_pressure:
      return Ink::chamber;
    case analysis::Role::vehicle_acceleration:
      return Ink::acceleration;
    case analysis::Role::dummy_load_current:
    case analysis::Role::lateral_acceleration:
    case analysis::Role::second_lateral_acceleration:
    case analysis::Role::tilt_rate:
    case analysis::Role::second_tilt_rate:
    case analysis::Role::other:
      break;
  }
  return Ink::ink;
}

struct Drawing {
  Stretch stretch;
  double zero = 0.0;
  Figure figure;
  [[nodiscard]] double x(double seconds) const {
    return kLeft + (kRight - kLeft) * (seconds - stretch.from_seconds) / stretch.length();
  }
};

// The samples themselves while they are fewer than two a column, else a stroke a column.
std::vector<Point> trace_points(const Drawing& drawing, const Trace& trace, double per_si, double top, const AxisRange& range) {
  const auto y = [&](double sample) {
    return top + kRowHeight * (1.0 - (sample * per_si - range.low) / (range.high - range.low));
  };
  std::vector<Point> points;
  const auto lift = [&] { points.push_back({std::nan(""), std::nan("")}); };
  const analysis::IndexRun inside = samples_between(trace, drawing.stretch.from_seconds, drawing.stretch.to_seconds);
  if (inside.last - inside.first < 2 * kColumns) {
    for (std::size_t k = inside.first; k < inside.last; ++k) {
      if (std::isnan(trace.samples[k]))
        lift();
      else
        points.push_back({drawing.x(trace.start_seconds + static_cast<double>(k) * trace.period_seconds), y(trace.samples[k])});
    }
    return points;
  }
  const auto columns = trace_columns(trace, drawing.stretch.from_seconds, drawing.stretch.to_seconds, kColumns);
  for (std::size_t c = 0; c < columns.size(); ++c) {
    if (columns[c].empty()) {
      lift();
      continue;
    }
    const double x = kLeft + (kRight - kLeft) * (static_cast<double>(c) + 0.5) / static_cast<double>(kColumns);
    points.push_back({x, y(columns[c].low)});
    if (columns[c].high > columns[c].low) points.push_back({x, y(columns[c].high)});
  }
  return points;
}

void draw_runs(Drawing& drawing, const Trace& trace, const std::vector<analysis::IndexRun>& runs, double top, Ink ink,
               const char* word) {
  for (const analysis::IndexRun& run : runs) {
    const double from = trace.start_seconds + static_cast<double>(run.first) * trace.period_seconds;
    const double to = trace.start_seconds + static_cast<double>(run.last) * trace.period_seconds;
    if (to < drawing.stretch.from_seconds || from > drawing.stretch.to_seconds) continue;
    const double x = std::max(kLeft, drawing.x(from)), end = std::min(kRight, std::max(drawing.x(to), x + 2.0));
    drawing.figure.parts.emplace_back(FigureBox{x, top, end - x, kRowHeight, ink, 0.35});
    drawing.figure.words(x, top + kRowHeight - 4.0, word);
  }
}

void draw_row(Drawing& drawing, const Trace& raw, double top) {
  const auto filtered = raw.frequency_class > 0 ? analysis::filtered_trace(raw) : Result<Trace>{raw};
  const Trace& trace = filtered ? *filtered : raw;
  const ScreenUnit unit = screen_unit(trace.quantity);
  const auto span = trace_columns(trace, drawing.stretch.from_seconds, drawing.stretch.to_seconds, 1).front();
  const AxisRange range = span.empty() ? AxisRange{} : axis_range(span.low * unit.per_si, span.high * unit.per_si, 4);
  for (double tick = std::ceil(range.low / range.step - 1.0e-9) * range.step; tick <= range.high + 1.0e-9 * range.step;
       tick += range.step) {
    const double y = top + kRowHeight * (1.0 - (tick - range.low) / (range.high - range.low));
    drawing.figure.line(kLeft, y, kRight, y, Ink::grid, 0.6, false, "grid");
    drawing.figure.words(kLeft - 6.0, y + 4.0, decimal(tick, range.decimals()), Anchor::end);
  }
  draw_runs(drawing, trace, trace.missing, top, Ink::lost, "lost");
  draw_runs(drawing, trace, trace.saturated, top, Ink::saturated, "saturated");
  drawing.figure.parts.emplace_back(FigureLine{trace_points(drawing, trace, unit.per_si, top, range), trace_ink(trace.role), 1.2,
                                               trace.role == analysis::Role::supply_pressure, "trace"});
  const std::string title = trace_legend(raw, filtered.has_value());
  drawing.figure.words(kRight - 6.0, top - 5.0, title, Anchor::end, true);  // above its row, where no trace runs
}

void draw_time_axis(Drawing& drawing, double bottom) {
  const double per_second = drawing.stretch.length() < 1.0 ? 1.0e3 : 1.0;
  const AxisRange axis = axis_steps((drawing.stretch.from_seconds - drawing.zero) * per_second,
                                    (drawing.stretch.to_seconds - drawing.zero) * per_second, 10);
  for (double tick = std::ceil(axis.low / axis.step) * axis.step; tick <= axis.high; tick += axis.step) {
    const double x = drawing.x(drawing.zero + tick / per_second);
    drawing.figure.line(x, kTop, x, bottom, Ink::grid, 0.6, false, "grid");
    drawing.figure.words(x, bottom + 16.0, decimal(tick, axis.decimals()), Anchor::middle);
  }
  drawing.figure.words(kRight, bottom + 32.0, per_second > 1.0 ? "time from first motion, ms" : "time from first motion, s",
                       Anchor::end);
}

void draw_marks(Drawing& drawing, const std::vector<Mark>& marks, double bottom) {
  std::array<double, 3> taken{kLeft, kLeft, kLeft};  // right end of the last word on each line
  for (const Mark& mark : marks) {
    const bool before = mark.seconds<drawing.stretch.from_seconds, after = mark.seconds> drawing.stretch.to_seconds;
    std::string words{mark.word};
    if (before || after) words += " at " + significant(mark.seconds - drawing.zero, 3) + " s" + (after ? " →" : "");
    if (before) words.insert(0, "← ");
    const double width = 7.0 * static_cast<double>(words.size());
    const double x = std::clamp(drawing.x(mark.seconds), kLeft, kRight);
    const double start = std::min(x + 3.0, kRight - width);
    const auto free = std::find_if(taken.begin(), taken.end(), [&](double end) { return start >= end; });
    const auto line = free == taken.end() ? taken.size() - 1 : static_cast<std::size_t>(free - taken.begin());
    taken[line] = start + width + 4.0;
    const double y = 12.0 + kMarkRow * static_cast<double>(line);
    if (!before && !after) drawing.figure.line(x, y - 8.0, x, bottom, Ink::muted, 1.0, true, "mark");
    drawing.figure.words(start, y, words);
  }
}

}  // namespace

Figure traces_figure(const analysis::TraceSet& traces, const analysis::Marks& marks, const Stretch& stretch,
                     std::string_view label) {
  const auto rows = stacking_order(traces);
  Drawing drawing{stretch, zero_seconds(traces, marks), {}};
  const double bottom = kTop + static_cast<double>(std::max<std::size_t>(1, rows.size())) * (kRowHeight + kGap) - kGap;
  draw_time_axis(drawing, bottom);
  double top = kTop;
  for (const Trace* trace : rows) {
    draw_row(drawing, *trace, top);
    top += kRowHeight + kGap;
  }
  draw_marks(drawing, mark_list(marks), bottom);
  drawing.figure.width = kWidth;
  drawing.figure.height = bottom + 40.0;
  drawing.figure.label = label;
  return std::move(drawing.figure);
}

}  // namespace coldstroke::gui
