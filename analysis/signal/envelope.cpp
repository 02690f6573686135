// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/envelope.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

namespace coldstroke::analysis {

std::vector<EnvelopeColumn> envelope(std::span<const double> samples, std::uint64_t first_index, std::size_t samples_per_column) {
  assert(samples_per_column > 0);
  std::vector<EnvelopeColumn> out;
  out.reserve(samples.size() / samples_per_column + 2);
  std::size_t at = 0;
  while (at < samples.size()) {
    const std::uint64_t column = (first_index + at) / samples_per_column;
    const std::uint64_t left = (column + 1) * samples_per_column - (first_index + at);
    const std::size_t end = left < samples.size() - at ? at + static_cast<std::size_t>(left) : samples.size();
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (; at < end; ++at) {  // comparisons with NaN are false, which is what skips it
      if (samples[at] < low) low = samples[at];
      if (samples[at] > high) high = samples[at];
    }
    if (low <= high) out.push_back({column, low, high});
  }
  return out;
}

std::vector<EnvelopePoint> decimate(std::span<const double> samples, std::size_t bins) {
  std::vector<EnvelopePoint> out;
  if (bins == 0) return out;
  const std::size_t count = samples.size(), used = std::min(bins, count);
  out.reserve(2 * used);
  for (std::size_t bin = 0; bin < used; ++bin) {
    const std::size_t end = (bin + 1) * count / used;
    std::size_t low = count, high = count;
    for (std::size_t i = bin * count / used; i < end; ++i) {
      if (std::isnan(samples[i])) continue;
      if (low == count || samples[i] < samples[low]) low = i;
      if (high == count || samples[i] > samples[high]) high = i;
    }
    if (low == count) continue;
    out.push_back({std::min(low, high), samples[std::min(low, high)]});
    if (low != high) out.push_back({std::max(low, high), samples[std::max(low, high)]});
  }
  return out;
}

}  // namespace coldstroke::analysis
