// SPDX-License-Identifier: GPL-3.0-or-later
//
// Minima and maxima of columns, so that a long record is drawn without losing a peak. For drawing only: never feed this to
// an analysis, and re-bin from the samples on every zoom.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace coldstroke::analysis {

/// Smallest and largest sample of one column.
struct EnvelopeColumn {
  std::uint64_t index = 0;  ///< of the column: absolute sample index / samples_per_column, rounded down
  double min = 0.0, max = 0.0;
  bool operator==(const EnvelopeColumn&) const = default;
};

/// Columns of `samples_per_column` (> 0) samples with edges at its multiples on the absolute sample count, so that a scrolling
/// trace keeps the same columns and does not shimmer. `first_index`: absolute index of samples[0].
/// The first and last column may be part full. NaN is skipped; a column of NaN alone is left out: break the line there.
[[nodiscard]] std::vector<EnvelopeColumn> envelope(std::span<const double> samples, std::uint64_t first_index,
                                                   std::size_t samples_per_column);

/// One original sample of a decimated trace.
struct EnvelopePoint {
  std::size_t index = 0;  ///< in the span given
  double value = 0.0;
  bool operator==(const EnvelopePoint&) const = default;
};

/// At most 2 * bins points of a fixed window (a finished trial): bin edges floor(b * N / bins); of each bin the first minimum
/// and the first maximum in time order, one point if they are the same sample. NaN is skipped. Empty for bins == 0.
[[nodiscard]] std::vector<EnvelopePoint> decimate(std::span<const double> samples, std::size_t bins);

}  // namespace coldstroke::analysis
