// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/calibration/capture.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/signal/level.hpp"

namespace coldstroke::gui {

Result<analysis::CalibrationPoint> capture(const daq::History& history, const daq::ChannelSetup& channel, double seconds) {
  daq::History::Copy copy;
  std::uint64_t generation = 0;
  history.copy_since(0, generation, copy);
  const auto wanted = static_cast<std::size_t>(std::max(2.0, std::round(seconds / history.period_seconds())));
  if (copy.samples.size() < wanted)
    return complain("There are fewer samples yet than the average needs.", channel.name, "Wait, or capture a shorter time.");
  std::vector<double> counts(copy.samples.end() - static_cast<std::ptrdiff_t>(wanted), copy.samples.end());
  if (std::ranges::any_of(counts, [](double value) { return !std::isfinite(value); }))
    return complain("Samples were lost while the average was taken.", channel.name, "Look at the link, then capture again.");
  const auto [low, high] = std::ranges::minmax(counts);
  if (low <= channel.range_low || high >= channel.range_high)
    return complain(low <= channel.range_low ? "The channel reads below its range: a broken wire or a lost supply?"
                                             : "The channel reads above its range: overload or a short circuit?",
                    channel.name, "Look at wire, supply and load, then capture again.");
  for (double& value : counts) value = channel.calibration.counts(value);
  const analysis::Level level = analysis::level(counts);
  analysis::CalibrationPoint point;
  point.reading = level.mean;
  point.reading_standard_deviation = level.standard_deviation;
  point.samples = static_cast<int>(wanted);
  return point;
}

}  // namespace coldstroke::gui
