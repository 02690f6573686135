// SPDX-License-Identifier: GPL-3.0-or-later
//
// Traces to CSV (RFC 4180), in the form that trace_import reads back.
#pragma once

#include <filesystem>
#include <vector>

#include "analysis/result.hpp"
#include "analysis/trial/trace.hpp"

namespace coldstroke::daq {

/// Writes one file for each distinct time base (start, period, length), since a CSV has one time column: "trial.csv" becomes
/// "trial-10000Hz.csv", "trial-2000Hz.csv"; a second time base of the same rate gets "-2", and so on. Columns are SI with the
/// unit in the header ("time_s", "force_N", otherwise "NAME [unit]"); numbers are the shortest that read back to the same bits; a
/// missing sample is an empty cell. The detector column goes with the vehicle's acceleration: 1 at the first sample at or after
/// each decision. Complains if a target exists; either all files are there afterwards or none. Returns their names.
[[nodiscard]] Result<std::vector<std::filesystem::path>> write_csv(const std::filesystem::path& file,
                                                                   const analysis::TraceSet& traces);

}  // namespace coldstroke::daq
