// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/trace_svg.hpp"

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
constexpr double kWidth = 1000.0, kLeft = 64.0, kRight = 988.0, kMarkRow = 16.0, kTop = 56.0, kRowHeight = 104.0, kGap = 18.0;
constexpr std::size_t kColumns = 924;

std::string number(double value) { return decimal(value, 1); }

const char* trace_colour(analysis::Role role) {
  switch (role) {
    case analysis::Role::force:
      return "#0072B2";
    case analysis::Role::supply_pressure:
      return "#A86E00";
    case analysis::Role::chamber_pressure:
      return "#2A83B8";
    case analysis::Role::vehicle_acceleration:
      return "#A8457F";
    case analysis::Role::dummy_load_current:
    case analysis::Role::lateral_acceleration:
    case analysis::Role::second_lateral_acceleration:
    case analysis::Role::tilt_rate:
    case analysis::Role::second_tilt_rate:
    case analysis::Role::other:
      break;
  }
  return "#1E2329";
}

struct Drawing {
  Stretch stretch;
  double zero = 0.0;
  std::string text;
  [[nodiscard]] double x(double seconds) const {
    return kLeft + (kRight - kLeft) * (seconds - stretch.from_seconds) / stretch.length();
  }
  void line(double x1, double y1, double x2, double y2, std::string_view style) {
    text += "<path class=\"" + std::string{style} + "\" d=\"M" + number(x1) + " " + number(y1) + "L" + number(x2) + " " +
            number(y2) + "\"/>\n";
  }
  void words(double x, double y, std::string_view anchor, std::string_view words) {
    text += "<text x=\"" + number(x) + "\" y=\"" + number(y) + "\" text-anchor=\"" + std::string{anchor} + "\">" +
            escaped(words) + "</text>\n";
  }
};

// One trace as a path: the samples themselves while they are fewer than two a column, else a stroke a column.
std::string trace_path(const Drawing& drawing, const Trace& trace, double per_si, double top, const AxisRange& range) {
  const auto y = [&](double sample) {
    return top + kRowHeight * (1.0 - (sample * per_si - range.low) / (range.high - range.low));
  };
  std::string path;
  bool pen_down = false;
  const auto go = [&](double x, double at) {
    path += (pen_down ? "L" : "M") + number(x) + " " + number(at);
    pen_down = true;
  };
  const analysis::IndexRun inside = samples_between(trace, drawing.stretch.from_seconds, drawing.stretch.to_seconds);
  if (inside.last - inside.first < 2 * kColumns) {
    for (std::size_t k = inside.first; k < inside.last; ++k) {
      if (std::isnan(trace.samples[k]))
        pen_down = false;
      else
        go(drawing.x(trace.start_seconds + static_cast<double>(k) * trace.period_seconds), y(trace.samples[k]));
    }
    return path;
  }
  const auto columns = trace_columns(trace, drawing.stretch.from_seconds, drawing.stretch.to_seconds, kColumns);
  for (std::size_t c = 0; c < columns.size(); ++c) {
    if (columns[c].empty()) {
      pen_down = false;
      continue;
    }
    const double x = kLeft + (kRight - kLeft) * (static_cast<double>(c) + 0.5) / static_cast<double>(kColumns);
    go(x, y(columns[c].low));
    if (columns[c].high > columns[c].low) go(x, y(columns[c].high));
  }
  return path;
}

void draw_runs(Drawing& drawing, const Trace& trace, const std::vector<analysis::IndexRun>& runs, double top, const char* style,
               const char* word) {
  for (const analysis::IndexRun& run : runs) {
    const double from = trace.start_seconds + static_cast<double>(run.first) * trace.period_seconds;
    const double to = trace.start_seconds + static_cast<double>(run.last) * trace.period_seconds;
    if (to < drawing.stretch.from_seconds || from > drawing.stretch.to_seconds) continue;
    const double x = std::max(kLeft, drawing.x(from)), end = std::min(kRight, std::max(drawing.x(to), x + 2.0));
    drawing.text += "<rect class=\"" + std::string{style} + "\" x=\"" + number(x) + "\" y=\"" + number(top) + "\" width=\"" +
                    number(end - x) + "\" height=\"" + number(kRowHeight) + "\"><title>" + word + "</title></rect>\n";
    drawing.words(x, top + kRowHeight - 4.0, "start", word);
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
    drawing.line(kLeft, y, kRight, y, "grid");
    drawing.words(kLeft - 6.0, y + 4.0, "end", decimal(tick, range.decimals()));
  }
  draw_runs(drawing, trace, trace.missing, top, "missing", "lost");
  draw_runs(drawing, trace, trace.saturated, top, "saturated", "saturated");
  drawing.text += "<path class=\"trace\" stroke=\"" + std::string{trace_colour(trace.role)} + "\"" +
                  (trace.role == analysis::Role::supply_pressure ? " stroke-dasharray=\"7 2\"" : "") + " d=\"" +
                  trace_path(drawing, trace, unit.per_si, top, range) + "\"/>\n";
  const std::string title = trace_legend(raw, filtered.has_value());
  drawing.text += "<text class=\"title\" x=\"" + number(kRight - 6.0) + "\" y=\"" + number(top + 14.0) +
                  "\" text-anchor=\"end\">" + escaped(title) + "</text>\n";
}

void draw_time_axis(Drawing& drawing, double bottom) {
  const double per_second = drawing.stretch.length() < 1.0 ? 1.0e3 : 1.0;
  const AxisRange axis = axis_steps((drawing.stretch.from_seconds - drawing.zero) * per_second,
                                    (drawing.stretch.to_seconds - drawing.zero) * per_second, 10);
  for (double tick = std::ceil(axis.low / axis.step) * axis.step; tick <= axis.high; tick += axis.step) {
    const double x = drawing.x(drawing.zero + tick / per_second);
    drawing.line(x, kTop, x, bottom, "grid");
    drawing.words(x, bottom + 16.0, "middle", decimal(tick, axis.decimals()));
  }
  drawing.words(kRight, bottom + 32.0, "end", per_second > 1.0 ? "time from first motion, ms" : "time from first motion, s");
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
    if (!before && !after) drawing.line(x, y - 8.0, x, bottom, "mark");
    drawing.words(start, y, "start", words);
  }
}

}  // namespace

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        // Control characters are not allowed in HTML; a board's log line may hold some.
        if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t')
          out += c;
        else
          out += "\uFFFD";
    }
  }
  return out;
}

std::string traces_svg(const analysis::TraceSet& traces, const analysis::Marks& marks, const Stretch& stretch,
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
  return "<svg role=\"img\" aria-label=\"" + escaped(label) + "\" viewBox=\"0 0 " + number(kWidth) + " " + number(bottom + 40.0) +
         "\" xmlns=\"http://www.w3.org/2000/svg\">\n" + drawing.text + "</svg>\n";
}

}  // namespace coldstroke::gui
