// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/saturation.hpp"

#include <cassert>

namespace coldstroke::analysis {

std::vector<IndexRun> saturated_runs(std::span<const double> samples, double low_end, double high_end, double tolerance) {
  assert(low_end < high_end);
  constexpr std::size_t kLeast = 3;
  const auto end_of = [&](double x) { return x >= high_end - tolerance ? 1 : x <= low_end + tolerance ? -1 : 0; };
  std::vector<IndexRun> out;
  std::size_t first = 0;
  int present = 0;
  for (std::size_t i = 0; i <= samples.size(); ++i) {
    const int now = i < samples.size() ? end_of(samples[i]) : 0;
    if (now == present) continue;
    if (present != 0 && i - first >= kLeast) out.push_back({first, i});
    first = i;
    present = now;
  }
  return out;
}

}  // namespace coldstroke::analysis
