// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/saturation.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

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

std::vector<IndexRun> flat_top_runs(std::span<const double> samples, double tolerance) {
  constexpr std::size_t kLeast = 5;
  if (samples.size() < 2 * kLeast || !(tolerance > 0.0)) return {};
  std::vector<double> steps(samples.size() - 1);
  for (std::size_t k = 0; k < steps.size(); ++k) steps[k] = std::abs(samples[k + 1] - samples[k]);
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::ranges::nth_element(steps, middle);
  if (!(*middle >= 0.5 * tolerance)) return {};
  const auto [low, high] = std::ranges::minmax(samples);
  std::vector<IndexRun> out;
  for (const IndexRun& run : saturated_runs(samples, low, high, tolerance))
    if (run.last - run.first >= kLeast) out.push_back(run);
  return out;
}

std::vector<IndexRun> joined(std::vector<IndexRun> a, const std::vector<IndexRun>& b) {
  a.insert(a.end(), b.begin(), b.end());
  std::ranges::sort(a, {}, &IndexRun::first);
  std::vector<IndexRun> out;
  for (const IndexRun& run : a) {
    if (!out.empty() && run.first <= out.back().last) {
      out.back().last = std::max(out.back().last, run.last);
    } else {
      out.push_back(run);
    }
  }
  return out;
}

}  // namespace coldstroke::analysis
