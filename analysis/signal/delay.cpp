// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/delay.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace coldstroke::analysis {
namespace {

constexpr double kLikenessLeast = 0.8;

double at(const Sampled& s, double seconds) {
  const double place = (seconds - s.start_seconds) / s.period_seconds;
  if (place <= 0.0) return s.samples.front();
  const auto low = static_cast<std::size_t>(place);
  if (low + 1 >= s.samples.size()) return s.samples.back();
  const double part = place - static_cast<double>(low);
  return (1.0 - part) * s.samples[low] + part * s.samples[low + 1];
}

/// Mean of `s` over one period of the slower signal, so that both see the same bandwidth.
double mean_around(const Sampled& s, double seconds, double width) {
  const int pieces = std::max(1, static_cast<int>(std::lround(width / s.period_seconds)));
  double sum = 0.0;
  for (int i = 0; i < pieces; ++i)
    sum += at(s, seconds + width * ((static_cast<double>(i) + 0.5) / static_cast<double>(pieces) - 0.5));
  return sum / static_cast<double>(pieces);
}

/// Correlation coefficient of `first` on `second`'s own samples that fall in [from, to] after the shift.
struct Comparison {
  Sampled first, second;
  double from, to;

  [[nodiscard]] double operator()(double shift) const {
    const double h = second.period_seconds, begin = (from - shift - second.start_seconds) / h;
    const double count = std::floor((to - from) / h) + 1.0;
    const double k0 = std::ceil(begin);
    if (k0 < 0.0 || k0 + count > static_cast<double>(second.samples.size())) return -1.0;
    const auto first_index = static_cast<std::size_t>(k0);
    const auto n = static_cast<std::size_t>(count);
    double mx = 0.0, my = 0.0, xx = 0.0, yy = 0.0, xy = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
      const double y = second.samples[first_index + i];
      const double x = at(first, second.start_seconds + h * static_cast<double>(first_index + i) + shift);
      const double weight = 1.0 / static_cast<double>(i + 1), dx = x - mx, dy = y - my;
      mx += dx * weight;
      my += dy * weight;
      xx += dx * (x - mx);
      yy += dy * (y - my);
      xy += dx * (y - my);
    }
    return xx > 0.0 && yy > 0.0 ? xy / std::sqrt(xx * yy) : -1.0;
  }
};

/// Standard deviation of a time shift from noise on the second signal: sigma / sqrt(sum of squared slopes).
double shift_uncertainty(const Comparison& compare, double shift, double likeness) {
  const double h = compare.second.period_seconds;
  double slopes = 0.0, variance = 0.0, mean = 0.0, count = 0.0;
  for (double t = compare.from; t + h <= compare.to; t += h) {
    const double y = at(compare.second, t - shift), step = at(compare.second, t + h - shift) - y;
    slopes += step * step / (h * h);
    count += 1.0;
    variance += (y - mean) * (y - mean) * (count - 1.0) / count;
    mean += (y - mean) / count;
  }
  const double misfit = count > 1.0 ? variance / (count - 1.0) * std::max(0.0, 1.0 - likeness * likeness) : 0.0;
  const double noise = slopes > 0.0 ? std::sqrt(misfit / slopes) : h;
  return std::hypot(noise, 0.1 * h);  // a tenth of a period: what linear interpolation between samples leaves
}

}  // namespace

Vertex parabola_vertex(double a, double b, double c) {
  const double curvature = a - 2.0 * b + c;
  if (curvature == 0.0) return {0.0, b};
  const double place = 0.5 * (a - c) / curvature;
  return {place, b - 0.25 * (a - c) * place};
}

std::optional<double> correlation_lag(std::span<const double> x, std::span<const double> y, std::size_t max_lag) {
  if (x.empty() || y.empty()) return std::nullopt;
  const auto reach = static_cast<long>(std::min(max_lag, std::max(x.size(), y.size()) - 1));
  std::vector<double> sums;
  for (long lag = -reach - 1; lag <= reach + 1; ++lag) {
    double sum = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      const long j = static_cast<long>(i) + lag;
      if (j >= 0 && j < static_cast<long>(y.size())) sum += x[i] * y[static_cast<std::size_t>(j)];
    }
    sums.push_back(sum);
  }
  const auto best = std::max_element(sums.begin() + 1, sums.end() - 1);
  if (!(*best > 0.0)) return std::nullopt;
  const auto lag = static_cast<double>(best - sums.begin()) - static_cast<double>(reach + 1);
  return lag + parabola_vertex(*(best - 1), *best, *(best + 1)).place;
}

Result<PulseAlignment> align_on_pulse(const Sampled& first, double from, double to, const Sampled& second) {
  const auto refuse = [](const char* where) {
    return complain("The two records cannot be laid on each other by the pulse they share.", where,
                    "Give force and acceleration of the same ejection, with the whole stroke in both.");
  };
  if (first.samples.size() < 3 || second.samples.size() < 3 || !(first.period_seconds > 0.0) || !(second.period_seconds > 0.0) ||
      !(to > from))
    return refuse("too few samples, or a window without length");
  // The faster signal is first averaged to the slower one's bandwidth, on its own times.
  std::vector<double> smooth(first.samples.begin(), first.samples.end());
  if (second.period_seconds > 1.5 * first.period_seconds)
    for (std::size_t i = 0; i < smooth.size(); ++i)
      smooth[i] = mean_around(first, first.start_seconds + first.period_seconds * static_cast<double>(i), second.period_seconds);
  const Comparison compare{{smooth, first.start_seconds, first.period_seconds}, second, from, to};
  double best_shift = 0.0, best = -1.0;
  for (std::size_t k = 0; k < second.samples.size(); ++k) {
    const double shift = from - (second.start_seconds + second.period_seconds * static_cast<double>(k));
    const double likeness = compare(shift);
    if (likeness > best) best = likeness, best_shift = shift;
  }
  // Then finer: the coefficient changes its set of samples with the shift, so a scan is safer than a root search.
  const double step = second.period_seconds / 40.0, centre = best_shift;
  std::vector<double> scan;
  for (int i = -60; i <= 60; ++i) scan.push_back(compare(centre + step * i));
  const auto peak = std::max_element(scan.begin() + 1, scan.end() - 1);
  best_shift = centre + step * (static_cast<double>(peak - scan.begin()) - 60.0 +
                                std::clamp(parabola_vertex(*(peak - 1), *peak, *(peak + 1)).place, -1.0, 1.0));
  best = *peak;
  if (!(best >= kLikenessLeast)) return refuse("no stretch of the second looks like the pulse of the first");
  return PulseAlignment{best_shift, shift_uncertainty(compare, best_shift, best), best};
}

}  // namespace coldstroke::analysis
