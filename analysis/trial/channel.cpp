// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/channel.hpp"

#include <algorithm>
#include <cmath>

namespace coldstroke::analysis {
namespace {

constexpr std::size_t kFewest = 8;

void bridge(std::vector<double>& values, const IndexRun& run) {
  const std::size_t last = std::min(run.last, values.size());
  if (run.first >= last) return;
  const bool before = run.first > 0, after = last < values.size();
  const double left = before ? values[run.first - 1] : after ? values[last] : 0.0;
  const double right = after ? values[last] : left;
  const auto width = static_cast<double>(last - run.first + 1);
  for (std::size_t i = run.first; i < last; ++i)
    values[i] = left + (right - left) * static_cast<double>(i - run.first + 1) / width;
}

}  // namespace

Result<Channel, Miss> Channel::make(const Trace& trace) {
  if (!std::isfinite(trace.start_seconds) || !std::isfinite(trace.period_seconds) || !(trace.period_seconds > 0.0))
    return tl::unexpected<Miss>{{"not_a_number", "the trace's start or sample period is not a usable number"}};
  if (trace.samples.size() < kFewest)
    return tl::unexpected<Miss>{{"record_too_short", "the trace has only " + std::to_string(trace.samples.size()) + " samples"}};
  Channel out;
  out.trace_ = &trace;
  out.values_ = trace.samples;
  for (const IndexRun& run : trace.missing) bridge(out.values_, run);
  const auto bad = std::find_if(out.values_.begin(), out.values_.end(), [](double x) { return !std::isfinite(x); });
  if (bad != out.values_.end())
    return tl::unexpected<Miss>{{"not_a_number", "sample " + std::to_string(bad - out.values_.begin()) + " is not a number"}};
  return out;
}

std::size_t Channel::at_or_after(double seconds) const {
  const double where = std::ceil(place(seconds) - 1.0e-9);
  if (!(where > 0.0)) return 0;
  return where >= static_cast<double>(size()) ? size() : static_cast<std::size_t>(where);
}

std::size_t Channel::count_in(double seconds, std::size_t least) const {
  return std::max(least, static_cast<std::size_t>(std::lround(std::min(seconds / period(), 1.0e9))));
}

Level Channel::level_between(double from, double to) const {
  const std::size_t first = at_or_after(from), last = std::max(first, at_or_after(to));
  return level(values().subspan(first, last - first));
}

double Channel::noise(double scatter) const { return std::max(scatter, trace_->resolution / std::sqrt(12.0)); }

std::size_t Channel::overlap(const std::vector<IndexRun>& runs, double from, double to) const {
  const std::size_t first = at_or_after(from), last = std::max(first, at_or_after(to));
  std::size_t count = 0;
  for (const IndexRun& run : runs)
    if (std::max(run.first, first) < std::min(run.last, last)) count += std::min(run.last, last) - std::max(run.first, first);
  return count;
}

double Channel::bridging_uncertainty(double from, double to) const {
  const std::size_t first = at_or_after(from), last = std::max(first, at_or_after(to));
  double squares = 0.0;
  for (const IndexRun& run : trace_->missing) {
    const std::size_t a = std::max(run.first, first), b = std::min({run.last, last, size()});
    if (a >= b) continue;
    const double left = values_[a > 0 ? a - 1 : a], right = values_[b < size() ? b : size() - 1];
    const double one = std::abs(right - left) / std::sqrt(12.0) * static_cast<double>(b - a) * period();
    squares += one * one;
  }
  return std::sqrt(squares);
}

}  // namespace coldstroke::analysis
