// SPDX-License-Identifier: GPL-3.0-or-later
//
// A library of labelled recordings as a person writes it down: a TOML table that names archived trials, CSV files and recordings
// to be computed (docs/detectors.md, "A library table").
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/detector/recording.hpp"
#include "analysis/result.hpp"
#include "daq/detector/campaign_library.hpp"

namespace coldstroke::daq {

/// Recordings in the order written. Relative file names are meant from `folder`. A complaint lists every problem of the table
/// with line, key and what is allowed; one about a file it names says which recording wants it. What the recordings hold
/// (contradictory labels, clipping, mixed rates) is check_library's to say.
[[nodiscard]] Result<std::vector<analysis::Recording>> parse_library_table(std::string_view text, const std::string& source,
                                                                           const std::filesystem::path& folder);
[[nodiscard]] Result<std::vector<analysis::Recording>> load_library_table(const std::filesystem::path& file);

/// A library table (.toml), or a campaign file with its trials and the recordings kept beside them.
[[nodiscard]] Result<std::vector<analysis::Recording>> load_library(const std::filesystem::path& file,
                                                                    std::vector<std::string>& left_out,
                                                                    const Progress& progress = {});

}  // namespace coldstroke::daq
