// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the verb and the page both say of a calibration's uncertainty.
#pragma once

#include <string>

#include "analysis/calibration/calibration.hpp"

namespace coldstroke::gui {

/// One or two sentences: what the curve's uncertainty stands on, and whether the reference's own is in it.
[[nodiscard]] std::string doubt_words(const analysis::CalibrationCurve& curve);

/// "15.02 ± 0.31 N (95 %, mostly from the scatter of the points)", extrapolation named; without a number where nothing bounds it.
/// Shown as SI times `per_si` in `unit`, which may be empty.
[[nodiscard]] std::string applied_words(const analysis::Applied& applied, double per_si, const std::string& unit);

/// For a machine: scatter, readings, reference, this_reading, unknown.
[[nodiscard]] const char* word(analysis::DoubtSource source);

}  // namespace coldstroke::gui
