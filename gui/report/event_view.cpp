// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/event_view.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace coldstroke::gui {

std::vector<Mark> mark_list(const analysis::Marks& marks) {
  const std::array<std::pair<std::string_view, std::optional<double>>, 6> all{{{"valve", marks.release_commanded_seconds},
                                                                               {"motion", marks.first_motion_seconds},
                                                                               {"peak", marks.peak_seconds},
                                                                               {"separation", marks.separation_seconds},
                                                                               {"decision", marks.decision_seconds},
                                                                               {"apex", marks.apex_seconds}}};
  std::vector<Mark> list;
  for (const auto& [word, seconds] : all)
    if (seconds) list.push_back({word, *seconds});
  std::stable_sort(list.begin(), list.end(), [](const Mark& a, const Mark& b) { return a.seconds < b.seconds; });
  return list;
}

std::vector<const analysis::Trace*> stacking_order(const analysis::TraceSet& traces) {
  std::vector<const analysis::Trace*> order;
  for (const analysis::Trace& trace : traces.traces)
    if (!trace.samples.empty() && trace.period_seconds > 0.0) order.push_back(&trace);
  std::stable_sort(order.begin(), order.end(), [](const auto* a, const auto* b) { return a->role < b->role; });
  return order;
}

Stretch whole_record(const analysis::TraceSet& traces) {
  Stretch whole{1.0e300, -1.0e300};
  for (const analysis::Trace* trace : stacking_order(traces)) {
    const double end = trace->start_seconds + static_cast<double>(trace->samples.size() - 1) * trace->period_seconds;
    whole.from_seconds = std::min(whole.from_seconds, trace->start_seconds);
    whole.to_seconds = std::max(whole.to_seconds, end);
  }
  return whole.length() > 0.0 ? whole : Stretch{};
}

Stretch stroke_stretch(const analysis::TraceSet& traces, const analysis::Marks& marks) {
  const Stretch whole = whole_record(traces);
  if (!marks.first_motion_seconds) return whole;
  const double motion = *marks.first_motion_seconds;
  const double end = marks.separation_seconds.value_or(motion + 0.05);
  const double stroke = std::max(1.0e-3, end - motion);
  double from = motion - 0.5 * stroke, to = end + 0.9 * stroke;
  if (marks.release_commanded_seconds && *marks.release_commanded_seconds > motion - 4.0 * stroke)
    from = std::min(from, *marks.release_commanded_seconds - 0.25 * stroke);
  if (marks.decision_seconds && *marks.decision_seconds<end + 3.0 * stroke&& * marks.decision_seconds> motion - 3.0 * stroke) {
    from = std::min(from, *marks.decision_seconds - 0.25 * stroke);
    to = std::max(to, *marks.decision_seconds + 0.4 * stroke);
  }
  from = std::max(from, whole.from_seconds);
  to = std::min(to, whole.to_seconds);
  return to > from ? Stretch{from, to} : whole;
}

Stretch all_marks_stretch(const analysis::TraceSet& traces, const analysis::Marks& marks) {
  const Stretch whole = whole_record(traces), stroke = stroke_stretch(traces, marks);
  Stretch all = stroke;
  for (const Mark& mark : mark_list(marks)) {
    all.from_seconds = std::min(all.from_seconds, mark.seconds);
    all.to_seconds = std::max(all.to_seconds, mark.seconds);
  }
  if (all == stroke) return stroke;
  const double room = 0.08 * all.length();
  all = {std::max(whole.from_seconds, all.from_seconds - room), std::min(whole.to_seconds, all.to_seconds + room)};
  return all.length() > 0.0 ? all : whole;
}

double zero_seconds(const analysis::TraceSet& traces, const analysis::Marks& marks) {
  if (marks.first_motion_seconds) return *marks.first_motion_seconds;
  if (marks.release_commanded_seconds) return *marks.release_commanded_seconds;
  return whole_record(traces).from_seconds;
}

}  // namespace coldstroke::gui
