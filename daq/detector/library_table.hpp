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

namespace coldstroke::daq {

/// Recordings in the order written. Relative file names are meant from `folder`. A complaint lists every problem of the table
/// with line, key and what is allowed; one about a file it names says which recording wants it. What the recordings hold
/// (contradictory labels, clipping, mixed rates) is check_library's to say.
[[nodiscard]] Result<std::vector<analysis::Recording>> parse_library_table(std::string_view text, const std::string& source,
                                                                           const std::filesystem::path& folder);
[[nodiscard]] Result<std::vector<analysis::Recording>> load_library_table(const std::filesystem::path& file);

/// Every recorded trial of a campaign whose vehicle moved and whose acceleration was kept, as must-fire recordings; `only` 0:
/// all, else that one, which then may be without motion: it was recorded without gas and must stay silent. Trials that cannot
/// serve are named in `left_out`, each with its reason.
[[nodiscard]] Result<std::vector<analysis::Recording>> recordings_of_campaign(const std::filesystem::path& campaign,
                                                                              std::int64_t only,
                                                                              std::vector<std::string>& left_out);

/// A library table (.toml), or a campaign file with all its trials.
[[nodiscard]] Result<std::vector<analysis::Recording>> load_library(const std::filesystem::path& file,
                                                                    std::vector<std::string>& left_out);

}  // namespace coldstroke::daq
