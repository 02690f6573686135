// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/level.hpp"

#include <cmath>

namespace coldstroke::analysis {

Level level(std::span<const double> samples) {
  Level out;
  double squares = 0.0;
  for (const double x : samples) {
    ++out.count;
    const double difference = x - out.mean;
    out.mean += difference / static_cast<double>(out.count);
    squares += difference * (x - out.mean);
  }
  if (out.count > 1) out.standard_deviation = std::sqrt(squares / static_cast<double>(out.count - 1));
  return out;
}

}  // namespace coldstroke::analysis
