// SPDX-License-Identifier: GPL-3.0-or-later
//
// From CSV text to columns of numbers, each with what it means. Internal to daq/record.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/result.hpp"
#include "analysis/trial/trace.hpp"
#include "daq/record/trace_import.hpp"
#include "daq/setup/units.hpp"

namespace coldstroke::daq {

/// What a column can be. Two roles carry no trace: the time line and the detector's answer.
struct ColumnRole {
  std::string_view word;
  Dimension dimension = Dimension::any;
  analysis::Quantity quantity = analysis::Quantity::other;
  analysis::Role role = analysis::Role::other;
};
[[nodiscard]] const ColumnRole* column_role(std::string_view word);
/// Word of a trace with this role: "force"; "other" if a column of it means nothing.
[[nodiscard]] std::string_view column_word(analysis::Role role);
[[nodiscard]] std::string column_role_words();
inline constexpr std::string_view kTimeWord = "time", kDetectorWord = "detector", kIgnoreWord = "ignore";

struct CsvColumn {
  std::string header;
  const ColumnRole* role = nullptr;
  double factor = 1.0;                        ///< written unit to SI
  std::size_t position = 0;                   ///< in the row, from 0
  std::vector<std::optional<double>> values;  ///< SI; nothing: empty cell
};

struct CsvTable {
  std::vector<CsvColumn> columns;  ///< only those that mean something
  std::vector<std::size_t> lines;  ///< line of the file each row ends on
  std::vector<std::string> notes;
  [[nodiscard]] const CsvColumn* column(std::string_view role) const;
};

/// Which of the headers mean what.
[[nodiscard]] Result<CsvTable> understand_headers(const std::vector<std::string>& headers, const ColumnMap& map,
                                                  const std::string& source);

/// `text` as one cell of a table, RFC 4180, rules 6 and 7: quoted where needed, a quotation mark doubled.
[[nodiscard]] std::string csv_cell(const std::string& text);

/// The whole text. `source` is the file name for complaints.
[[nodiscard]] Result<CsvTable> read_csv(std::string_view text, const std::string& source, const ColumnMap& map);

}  // namespace coldstroke::daq
