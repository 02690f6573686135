// SPDX-License-Identifier: GPL-3.0-or-later
//
// One trace made ready: checked, lost samples bridged, its reading at rest known.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "analysis/signal/level.hpp"
#include "analysis/trial/trace.hpp"

namespace coldstroke::analysis {

/// Why something cannot be had; `kind` is the finding's, `reason` one sentence.
struct Miss {
  std::string kind, reason;
};

class Channel {
 public:
  /// Complains (kind not_a_number or record_too_short) of a period that is not positive, times or samples that are not
  /// finite, or fewer than eight samples. Lost samples are bridged by straight lines in the copy kept here.
  [[nodiscard]] static Result<Channel, Miss> make(const Trace& trace);

  [[nodiscard]] const Trace& trace() const { return *trace_; }
  [[nodiscard]] std::span<const double> values() const { return values_; }  ///< bridged, as read
  [[nodiscard]] std::size_t size() const { return values_.size(); }
  [[nodiscard]] double period() const { return trace_->period_seconds; }
  [[nodiscard]] double seconds(double place) const { return trace_->start_seconds + place * period(); }
  [[nodiscard]] double place(double seconds) const { return (seconds - trace_->start_seconds) / period(); }
  /// Index of the first sample at or after `seconds`, at most size().
  [[nodiscard]] std::size_t at_or_after(double seconds) const;
  /// Samples in `seconds`, at least `least`.
  [[nodiscard]] std::size_t count_in(double seconds, std::size_t least) const;

  /// Level of the samples between two times; count 0 if there are none.
  [[nodiscard]] Level level_between(double from, double to) const;
  /// Standard deviation of one sample: the larger of `scatter` and what one count leaves.
  [[nodiscard]] double noise(double scatter) const;

  /// Lost or clipped samples between two times.
  [[nodiscard]] std::size_t lost_between(double from, double to) const { return overlap(trace_->missing, from, to); }
  [[nodiscard]] std::size_t saturated_between(double from, double to) const { return overlap(trace_->saturated, from, to); }
  /// Standard uncertainty that bridging leaves on an integral between two times: each gap as a rectangular error of half the
  /// difference across it, all along it.
  [[nodiscard]] double bridging_uncertainty(double from, double to) const;

 private:
  [[nodiscard]] std::size_t overlap(const std::vector<IndexRun>& runs, double from, double to) const;
  const Trace* trace_ = nullptr;
  std::vector<double> values_;
};

}  // namespace coldstroke::analysis
