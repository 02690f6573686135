// SPDX-License-Identifier: GPL-3.0-or-later
//
// Channel frequency class: the named low-pass of impact testing (SAE J211-1 appendix C, ISO 6487). Two poles forward, the same
// two backward: no phase, and therefore no instants from it, since its output begins to move before its input does.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "analysis/result.hpp"

namespace coldstroke::analysis {

enum class CfcClass : unsigned short { cfc_60 = 60, cfc_180 = 180, cfc_600 = 600, cfc_1000 = 1000 };
/// The class with this number, if there is one.
[[nodiscard]] std::optional<CfcClass> cfc_class(long number);

/// Design frequency of each pass over the class: SAE's, or the fraction of ISO 6487 (1.25 * 5/3).
inline constexpr double kCfcFactorSae = 2.0775, kCfcFactorIso = 1.25 * 5.0 / 3.0;

/// y[t] = a0 x[t] + a1 x[t-1] + a2 x[t-2] + b1 y[t-1] + b2 y[t-2]
struct CfcCoefficients {
  double a0 = 0.0, a1 = 0.0, a2 = 0.0, b1 = 0.0, b2 = 0.0;
};

/// The lowest rate at which the class may be used: ten times its number (SAE J211-1).
[[nodiscard]] double least_rate_hz(CfcClass filter);
/// Complains of a rate below that: bilinear warping would make another filter of it.
[[nodiscard]] Result<CfcCoefficients> cfc_coefficients(CfcClass filter, double period_seconds, double factor = kCfcFactorSae);

/// One pass with the start-up rule of appendix C: the first two outputs are the first two inputs.
[[nodiscard]] std::vector<double> cfc_pass(std::span<const double> samples, const CfcCoefficients& c);

/// Forward and backward. The record is continued on both sides by its own odd reflection, at least 10 ms and twenty time
/// constants of the filter or as far as the record goes, so that neither a constant nor a slope is bent. Complains as
/// cfc_coefficients does and of fewer than three samples.
[[nodiscard]] Result<std::vector<double>> cfc_filtered(std::span<const double> samples, double period_seconds, CfcClass filter,
                                                       double factor = kCfcFactorSae);

/// Amplitude gain of both passes together at a frequency, 1 at 0: 1 / (1 + (tan(pi f T) / wa)^4).
[[nodiscard]] double cfc_gain(CfcClass filter, double period_seconds, double frequency_hz, double factor = kCfcFactorSae);

}  // namespace coldstroke::analysis
