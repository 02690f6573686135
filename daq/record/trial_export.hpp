// SPDX-License-Identifier: GPL-3.0-or-later
//
// Trials out of a campaign file into formats that outlive this program: HDF5, and a folder of CSV files. docs/export.md.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "daq/record/campaign.hpp"
#include "daq/record/evidence_trials.hpp"

namespace coldstroke::daq {

/// Which trials: all that were recorded if empty.
using TrialNumbers = std::vector<std::int64_t>;

/// One HDF5 file, a group a trial, a dataset a trace with unit, time base and uncertainty as attributes. Written under another
/// name and moved into place when whole. Complains if `file` exists, and leaves nothing behind when it fails or is stopped.
[[nodiscard]] Result<void> export_hdf5(const Campaign& campaign, const std::filesystem::path& file, const TrialNumbers& trials,
                                       const Progress& progress = {});

/// A new folder with README.txt, dictionary.csv (what each column of each file means), trials.csv (one line a trial, all
/// metrics), and for each trial a folder with its traces (RFC 4180), setup.toml, result.json and timing.json (what a table of
/// samples cannot say). Complains if `folder` exists; leaves nothing behind when it fails or is stopped.
[[nodiscard]] Result<void> export_folder(const Campaign& campaign, const std::filesystem::path& folder,
                                         const TrialNumbers& trials, const Progress& progress = {});

/// What a table of samples cannot say: release, alignment, the detector's own record, exact time bases. JSON.
[[nodiscard]] std::string timing_json(const analysis::TraceSet& traces);

}  // namespace coldstroke::daq
