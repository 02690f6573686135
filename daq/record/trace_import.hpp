// SPDX-License-Identifier: GPL-3.0-or-later
//
// Traces recorded elsewhere, from CSV (RFC 4180): columns mapped to quantities and units by header or by the caller.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "analysis/result.hpp"
#include "analysis/trial/trace.hpp"
#include "daq/setup/setup.hpp"

namespace coldstroke::daq {

/// One column: what it is and its unit. Role words: time, force, supply, chamber, acceleration, current, detector.
/// Units: time s|ms|us; force N|kN|kgf|lbf; pressure Pa|kPa|MPa|bar|psi (gauge); acceleration m/s2|g (specific force); current
/// A|mA; detector 0/1.
struct ColumnMapping {
  std::string role, unit;
  bool operator==(const ColumnMapping&) const = default;
};
/// column header -> mapping. Columns not named here are understood from headers "role_unit" or "role [unit]" or "role (unit)";
/// others are ignored with a note.
using ColumnMap = std::map<std::string, ColumnMapping, std::less<>>;

struct ImportedTraces {
  analysis::TraceSet traces;
  std::vector<std::string> notes;  ///< ignored columns, how headers were read, what was missing
};

/// Reads evenly sampled traces; time must rise strictly and evenly (to 1 % of the median step, gaps of whole steps become
/// `missing`). An empty cell is a missing sample of its column. The detector column holds 0 or 1: each change from 0 to 1 is a
/// decision, at the time of the first 1; absent or empty throughout, the board's record is not there. Times stay as they are in
/// the file. Complaints name file, line and column: missing column, NaN, unsorted or repeated time, ragged row, no rows,
/// thousands separators, unknown unit. Uncertainties, ranges and the size of a count are taken from `setup`'s channel of the same
/// role.
[[nodiscard]] Result<ImportedTraces> import_csv(const std::filesystem::path& file, const ColumnMap& columns, const Setup& setup);

/// The same from text already read; `source` stands in complaints for the file.
[[nodiscard]] Result<ImportedTraces> import_csv_text(std::string_view text, const std::string& source, const ColumnMap& columns,
                                                     const Setup& setup);

/// "COLUMN=role:unit" as given on a command line.
[[nodiscard]] Result<std::pair<std::string, ColumnMapping>> parse_column_mapping(std::string_view text);

}  // namespace coldstroke::daq
