// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/signal/cfc.hpp"

#include <algorithm>
#include <boost/math/constants/constants.hpp>
#include <cmath>
#include <string>

namespace coldstroke::analysis {
namespace {

constexpr double kPi = boost::math::constants::pi<double>();
constexpr double kRoot2 = boost::math::constants::root_two<double>();
constexpr double kRatePerClass = 10.0;
constexpr double kLeastPadSeconds = 10.0e-3, kPadTimeConstants = 20.0;

/// Design frequency of one pass, rad/s.
double design_frequency(CfcClass filter, double factor) { return 2.0 * kPi * static_cast<double>(filter) * factor; }

/// Of the bilinear transform.
double warped(CfcClass filter, double period, double factor) { return std::tan(0.5 * design_frequency(filter, factor) * period); }

}  // namespace

std::optional<CfcClass> cfc_class(long number) {
  for (const CfcClass filter : {CfcClass::cfc_60, CfcClass::cfc_180, CfcClass::cfc_600, CfcClass::cfc_1000})
    if (static_cast<long>(filter) == number) return filter;
  return std::nullopt;
}

double least_rate_hz(CfcClass filter) { return kRatePerClass * static_cast<double>(filter); }

Result<CfcCoefficients> cfc_coefficients(CfcClass filter, double period_seconds, double factor) {
  const double rate = 1.0 / period_seconds;
  if (!(period_seconds > 0.0) || rate < least_rate_hz(filter) * (1.0 - 1.0e-9))
    return complain("CFC " + std::to_string(static_cast<int>(filter)) + " is not allowed at this sampling rate.",
                    std::to_string(rate) + " samples a second",
                    "Sample at " + std::to_string(std::lround(least_rate_hz(filter))) +
                        " a second or more, or choose a lower class; unfiltered samples are always there.");
  const double wa = warped(filter, period_seconds, factor), denominator = 1.0 + kRoot2 * wa + wa * wa;
  CfcCoefficients c;
  c.a0 = wa * wa / denominator;
  c.a1 = 2.0 * c.a0;
  c.a2 = c.a0;
  c.b1 = -2.0 * (wa * wa - 1.0) / denominator;
  c.b2 = (-1.0 + kRoot2 * wa - wa * wa) / denominator;
  return c;
}

std::vector<double> cfc_pass(std::span<const double> samples, const CfcCoefficients& c) {
  std::vector<double> out(samples.begin(), samples.end());
  for (std::size_t t = 2; t < samples.size(); ++t)
    out[t] = c.a0 * samples[t] + c.a1 * samples[t - 1] + c.a2 * samples[t - 2] + c.b1 * out[t - 1] + c.b2 * out[t - 2];
  return out;
}

Result<std::vector<double>> cfc_filtered(std::span<const double> samples, double period_seconds, CfcClass filter, double factor) {
  const auto c = cfc_coefficients(filter, period_seconds, factor);
  if (!c) return tl::unexpected{c.error()};
  if (samples.size() < 3)
    return complain("There is nothing to filter.", std::to_string(samples.size()) + " samples", "Record more than two.");
  const double time_constant = kRoot2 / design_frequency(filter, factor);
  const double wanted = std::max(kLeastPadSeconds, kPadTimeConstants * time_constant) / period_seconds;
  const std::size_t n = samples.size(), pad = std::min(n - 1, static_cast<std::size_t>(std::ceil(wanted)));
  std::vector<double> padded;
  padded.reserve(n + 2 * pad);
  for (std::size_t k = pad; k > 0; --k) padded.push_back(2.0 * samples.front() - samples[k]);
  padded.insert(padded.end(), samples.begin(), samples.end());
  for (std::size_t k = 1; k <= pad; ++k) padded.push_back(2.0 * samples.back() - samples[n - 1 - k]);
  std::vector<double> forward = cfc_pass(padded, *c);
  std::ranges::reverse(forward);
  std::vector<double> both = cfc_pass(forward, *c);
  std::ranges::reverse(both);
  return std::vector<double>(both.begin() + static_cast<std::ptrdiff_t>(pad), both.end() - static_cast<std::ptrdiff_t>(pad));
}

double cfc_gain(CfcClass filter, double period_seconds, double frequency_hz, double factor) {
  return 1.0 / (1.0 + std::pow(std::tan(kPi * frequency_hz * period_seconds) / warped(filter, period_seconds, factor), 4));
}

}  // namespace coldstroke::analysis
