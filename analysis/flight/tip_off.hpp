// SPDX-License-Identifier: GPL-3.0-or-later
//
// The turn that the tube gives the vehicle as it leaves, and what it comes to until thrust: below flying speed nothing rights it,
// so tilt = tilt at exit + rate at exit times time. Lateral peaks in the tube: did it touch the wall?
#pragma once

#include <optional>
#include <vector>

#include "analysis/trial/evidence.hpp"

namespace coldstroke::analysis {

struct TipOff {
  std::vector<Metric> metrics;  ///< tip_off_rate_radians_per_second, tip_off_tilt_radians, onset_tilt_radians, lateral_peak_g
  std::vector<Finding> findings;
};

/// `onset_seconds`: expected thrust after separation, if known. Rates and tilts of two axes are added as vectors; the tube's own
/// tilt, whose direction is not known, is added to the turn at its worst.
[[nodiscard]] TipOff tip_off_of(const TrialSetup& setup, const Evidence& evidence, std::optional<double> onset_seconds,
                                double onset_standard_uncertainty_seconds);

}  // namespace coldstroke::analysis
