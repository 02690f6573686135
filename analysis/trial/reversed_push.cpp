// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/reversed_push.hpp"

#include <algorithm>

namespace coldstroke::analysis {

bool pushes_downwards(std::span<const double> net, std::size_t before, double least_depth, std::size_t longest) {
  const auto searched = net.first(std::min(before, net.size()));
  if (searched.empty()) return false;
  const auto deepest = static_cast<std::size_t>(std::ranges::min_element(searched) - searched.begin());
  if (!(-net[deepest] >= least_depth)) return false;
  const auto still_down = [&](std::size_t i) { return net[i] <= 0.5 * net[deepest]; };
  std::size_t first = deepest, last = deepest;
  while (first > 0 && still_down(first - 1)) --first;
  while (last + 1 < net.size() && still_down(last + 1)) ++last;
  return first > 0 && last + 1 < net.size() && last - first < longest;
}

}  // namespace coldstroke::analysis
