// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/board_counts.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/detector/detector_model.hpp"
#include "analysis/pneumatics/stroke_model.hpp"

namespace coldstroke::analysis {
namespace {

double at_board_instant(std::span<const double> samples, double place) {
  const double whole = std::floor(place);
  const auto left = std::min(static_cast<std::size_t>(whole), samples.size() - 1);
  const std::size_t right = std::min(left + 1, samples.size() - 1);
  return std::lerp(samples[left], samples[right], place - whole);
}

}  // namespace

std::int32_t count_of(double mps2, const BoardSampling& board) {
  const double end = std::ldexp(1.0, board.bits - 1);
  const double counts = std::round(mps2 / (count_g(board) * kStandardGravity));
  return static_cast<std::int32_t>(std::clamp(counts, -end, end - 1.0));
}

bool same_rate(double a_hz, double b_hz) { return std::abs(a_hz / b_hz - 1.0) <= 1.0e-3; }

BoardCounts board_counts(std::span<const double> samples_mps2, double sample_rate_hz, const BoardSampling& board) {
  BoardCounts out;
  if (samples_mps2.empty()) return out;
  const double step = sample_rate_hz / board.sample_rate_hz;  // trace samples a board sample
  const bool same = same_rate(sample_rate_hz, board.sample_rate_hz);
  const auto last = static_cast<double>(samples_mps2.size() - 1);
  const std::size_t count = same ? samples_mps2.size() : static_cast<std::size_t>(std::floor(last / step * (1.0 + 1.0e-12))) + 1;
  const auto end = static_cast<std::int32_t>(std::ldexp(1.0, board.bits - 1));
  out.counts.reserve(count);
  for (std::size_t k = 0; k < count; ++k) {
    const double value = same ? samples_mps2[k] : at_board_instant(samples_mps2, std::min(static_cast<double>(k) * step, last));
    const std::int32_t counts = count_of(value, board);
    out.clipped_samples += counts == -end || counts == end - 1 ? 1 : 0;
    out.counts.push_back(counts);
  }
  return out;
}

std::vector<std::int32_t> conditioned(std::span<const std::int32_t> counts, std::int32_t rest_counts, int filter_shift) {
  IntegerLowPass filter{static_cast<unsigned>(filter_shift)};
  std::vector<std::int32_t> out;
  out.reserve(counts.size());
  for (const std::int32_t c : counts) out.push_back(filter.feed(net_of_rest(c, rest_counts)));
  return out;
}

}  // namespace coldstroke::analysis
