// SPDX-License-Identifier: GPL-3.0-or-later
//
// Calibration records and the file they are appended to. Nothing in that file is ever rewritten.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daq/setup/setup.hpp"

namespace coldstroke::daq {

/// Fits the curve and compares loading with unloading. Complains as CalibrationCurve::fit does.
[[nodiscard]] Result<CalibrationRecord> fit_record(CalibrationRecord record, analysis::CalibrationForm form);

/// The record as a channel's calibration in force. Relative gain uncertainty: of the curve's mean slope and of the reference.
/// Zero uncertainty: the curve's at no load with that of a reading about it. Each is such that 1.96 of it are the 95 % interval
/// of Student's t. The two count as independent, which is on the safe side for loads of one sign.
[[nodiscard]] Calibration calibration_of(const CalibrationRecord& record);

/// A number that the record states and that must follow from its points; `scale`: below this size differences are rounding.
struct StatedNumber {
  std::string key;
  double value = 0.0, scale = 0.0;
};
[[nodiscard]] std::vector<StatedNumber> stated_numbers(const CalibrationRecord& record);

/// TOML text of the record, one [[calibration]] table with a final line break.
[[nodiscard]] std::string toml_text(const CalibrationRecord& record);

/// Appends the record to the setup's calibration file, so that it supersedes the channel's older ones for whoever loads the setup
/// from now on; `setup` itself stays as it is. One write under a file lock, then fsync; a write that does not fit is taken back.
/// Complains of a setup without file or calibration_file, of a record that would not load again, and of the disk.
[[nodiscard]] Result<void> append_calibration(const Setup& setup, const CalibrationRecord& record);

}  // namespace coldstroke::daq
