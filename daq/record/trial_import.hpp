// SPDX-License-Identifier: GPL-3.0-or-later
//
// Traces recorded elsewhere, as a trial of a campaign: the files are kept as they are, the result stands beside them.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "analysis/trial/analyse.hpp"
#include "daq/record/campaign.hpp"
#include "daq/record/trace_import.hpp"

namespace coldstroke::daq {

/// One CSV file for each time base. If a timing.json of an export lies beside the first, it gives what a table cannot say: then
/// the traces are those that were exported.
[[nodiscard]] Result<ImportedTraces> import_files(const std::vector<std::filesystem::path>& files, const ColumnMap& columns,
                                                  const Setup& setup);

/// Puts what timing_json wrote into traces read from tables. Complains if it does not fit them.
[[nodiscard]] Result<void> apply_timing(const std::string& json, const std::string& source, analysis::TraceSet& traces);

struct ImportedTrial {
  std::int64_t number = 0;
  analysis::TrialResult result;
  std::vector<std::string> notes;
};
/// Adds a trial that holds the files as attachments, the mapping among them, and its result. Nothing of the trial's own is left
/// open if a file cannot be read: the files are read first.
[[nodiscard]] Result<ImportedTrial> import_trial(Campaign& campaign, const std::vector<std::filesystem::path>& files,
                                                 const ColumnMap& columns, const Setup& setup);

/// The traces of a trial that was imported; nothing if it holds raw bytes instead.
[[nodiscard]] Result<std::optional<ImportedTraces>> imported_traces(const Campaign& campaign, std::int64_t trial,
                                                                    const Setup& setup);

/// The first line of the file, by which a mapping is remembered.
[[nodiscard]] Result<std::string> header_line(const std::filesystem::path& file);
/// The mapping remembered in `memory` for this header line; empty if there is none.
[[nodiscard]] Result<ColumnMap> remembered_mapping(const std::filesystem::path& memory, const std::string& header);
/// Remembers it, in place of an earlier one for the same line.
[[nodiscard]] Result<void> remember_mapping(const std::filesystem::path& memory, const std::string& header,
                                            const ColumnMap& columns);

}  // namespace coldstroke::daq
