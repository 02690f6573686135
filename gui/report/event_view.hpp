// SPDX-License-Identifier: GPL-3.0-or-later
//
// What of a trial's traces is worth seeing first: order, marks and the stretch of time around the event.
#pragma once

#include <string_view>
#include <vector>

#include "analysis/trial/analyse.hpp"
#include "analysis/trial/trace.hpp"

namespace coldstroke::gui {

struct Mark {
  std::string_view word;  ///< "valve", "motion", "peak", "separation", "decision", "apex"
  double seconds = 0.0;   ///< on the record's time line
};
/// The marks that exist, in order of time.
[[nodiscard]] std::vector<Mark> mark_list(const analysis::Marks& marks);

/// Traces in the order of every stacked plot: force, supply, chamber, acceleration, current, then the rest. Traces without
/// samples or without a period are left out: there is nothing to draw.
[[nodiscard]] std::vector<const analysis::Trace*> stacking_order(const analysis::TraceSet& traces);

struct Stretch {
  double from_seconds = 0.0, to_seconds = 1.0;
  [[nodiscard]] double length() const { return to_seconds - from_seconds; }
  bool operator==(const Stretch&) const = default;
};
/// From the first to the last sample of any trace; 0..1 s without any.
[[nodiscard]] Stretch whole_record(const analysis::TraceSet& traces);
/// The stroke with room on both sides; the decision too if it falls near. Whole record without a first motion.
[[nodiscard]] Stretch stroke_stretch(const analysis::TraceSet& traces, const analysis::Marks& marks);
/// From before the stroke to after the last mark, however late the decision came.
[[nodiscard]] Stretch all_marks_stretch(const analysis::TraceSet& traces, const analysis::Marks& marks);
/// Where a plot puts its zero: first motion, else the release command, else the start of the record.
[[nodiscard]] double zero_seconds(const analysis::TraceSet& traces, const analysis::Marks& marks);

}  // namespace coldstroke::gui
