// SPDX-License-Identifier: GPL-3.0-or-later
//
// Many samples on few columns without losing a peak: each column keeps the smallest and the largest of its samples.
#pragma once

#include <cstddef>
#include <vector>

#include "analysis/trial/trace.hpp"

namespace coldstroke::gui {

/// What falls into one column; `low > high`: nothing.
struct Column {
  double low = 1.0, high = 0.0;
  [[nodiscard]] bool empty() const { return !(low <= high); }
};

/// Columns of equal width over [from_seconds, to_seconds), from < to, count > 0. Sample k belongs to the column its instant
/// falls into. NaN samples are left out. With fewer samples than columns some columns are empty: draw the samples themselves.
[[nodiscard]] std::vector<Column> trace_columns(const analysis::Trace& trace, double from_seconds, double to_seconds,
                                                std::size_t count);

/// Indices [first, last) of the samples inside [from_seconds, to_seconds].
[[nodiscard]] analysis::IndexRun samples_between(const analysis::Trace& trace, double from_seconds, double to_seconds);

/// Range rounded out to quarters of a step for an axis that shows `low`..`high`, with the tick step: 1, 2 or 5 times a power of
/// ten, about `ticks` of them. Equal or swapped ends get room around them.
struct AxisRange {
  double low = 0.0, high = 1.0, step = 0.2;
  [[nodiscard]] int decimals() const;  ///< that tell two ticks apart
  bool operator==(const AxisRange&) const = default;
};
[[nodiscard]] AxisRange axis_range(double low, double high, int ticks);
/// The step alone, the ends kept as they are: for an axis a person zooms.
[[nodiscard]] AxisRange axis_steps(double low, double high, int ticks);

}  // namespace coldstroke::gui
