// SPDX-License-Identifier: GPL-3.0-or-later
//
// CSV text to columns of numbers. Taking rows apart is libcsv's work; this file says what is wrong and where.
#include <csv.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "daq/record/csv_columns.hpp"

namespace coldstroke::daq {
namespace {

constexpr std::size_t kRowLimit = 50'000'000;

class CsvReader {
 public:
  CsvReader(const std::string& source, const ColumnMap& map) : source_{source}, map_{map} {
    csv_init(&parser_, CSV_STRICT | CSV_STRICT_FINI);
  }
  ~CsvReader() { csv_free(&parser_); }
  CsvReader(const CsvReader&) = delete;
  CsvReader& operator=(const CsvReader&) = delete;

  Result<CsvTable> read(std::string_view text) {
    // One line at a time, so that the callbacks know which line they are on.
    while (!text.empty() && !trouble_) {
      const auto end = std::min(text.find('\n'), text.size() - 1);
      const std::string_view line = text.substr(0, end + 1);
      ++line_;
      if (csv_parse(&parser_, line.data(), line.size(), &CsvReader::on_cell, &CsvReader::on_row, this) != line.size())
        broken_quotes();
      text.remove_prefix(line.size());
    }
    if (!trouble_ && csv_fini(&parser_, &CsvReader::on_cell, &CsvReader::on_row, this) != 0) broken_quotes();
    if (trouble_) return tl::unexpected{*trouble_};
    if (!headers_read_) return complain("The file is empty.", source_, "Name a CSV file with a header line and rows below it.");
    if (table_.lines.empty())
      return complain("There are no rows below the header.", source_ + ", line 2", "Name a file with data in it.");
    return std::move(table_);
  }

 private:
  static void on_cell(void* bytes, std::size_t size, void* self) {
    static_cast<CsvReader*>(self)->cells_.emplace_back(static_cast<const char*>(bytes), size);
  }
  static void on_row(int, void* self) { static_cast<CsvReader*>(self)->row(); }

  void report(std::string what, std::string where, std::string remedy) {
    if (!trouble_) trouble_ = Complaint{std::move(what), std::move(where), std::move(remedy)};
  }
  std::string here() const { return source_ + ", line " + std::to_string(line_); }

  void broken_quotes() {
    report("The quotation marks of a cell do not close as they should.", here(),
           "Quote whole cells only and double a quotation mark inside (RFC 4180).");
  }

  void row() {
    if (!trouble_) headers_read_ ? data_row() : header_row();
    cells_.clear();
  }

  void header_row() {
    headers_read_ = true;
    if (cells_.size() == 1 && cells_[0].find_first_of(";\t") != std::string::npos) {
      report("The columns are not separated by commas.", here(),
             "Write the file with commas between columns and a point in numbers.");
      return;
    }
    width_ = cells_.size();
    auto understood = understand_headers(cells_, map_, source_);
    if (understood) {
      table_ = std::move(*understood);
    } else {
      trouble_ = understood.error();
    }
  }

  void data_row() {
    if (cells_.size() != width_) {
      report("The row has " + std::to_string(cells_.size()) + " cells and the header has " + std::to_string(width_) + ".", here(),
             "Complete the row; a number may hold no thousands separator and no decimal comma.");
      return;
    }
    if (table_.lines.size() >= kRowLimit) report("There are more than 50 million rows.", here(), "Cut the record to the trial.");
    for (CsvColumn& column : table_.columns) column.values.push_back(number(column));
    table_.lines.push_back(line_);
  }

  std::optional<double> number(const CsvColumn& column) {
    std::string_view cell = cells_[column.position];
    if (cell.empty()) return std::nullopt;
    if (cell.front() == '+') cell.remove_prefix(1);
    double value = 0.0;
    const auto [end, error] = std::from_chars(cell.data(), cell.data() + cell.size(), value);
    const std::string where = here() + ", column " + std::to_string(column.position + 1) + " \"" + column.header + "\"";
    if (error != std::errc{} || end != cell.data() + cell.size()) {
      const bool separators = cell.find_first_of(",' ") != std::string_view::npos;
      report("\"" + cells_[column.position].substr(0, 40) + "\" is not a number" +
                 (separators ? " (thousands separator or decimal comma?)." : "."),
             where, "Write plain numbers such as 1234.5 or 1.2345e3.");
      return std::nullopt;
    }
    if (!std::isfinite(value)) {
      report("\"" + std::string{cell} + "\" is not a finite number.", where, "Leave the cell empty if the sample is missing.");
      return std::nullopt;
    }
    return value * column.factor;
  }

  const std::string& source_;
  const ColumnMap& map_;
  csv_parser parser_{};
  CsvTable table_;
  std::vector<std::string> cells_;
  std::size_t line_ = 0, width_ = 0;
  bool headers_read_ = false;
  std::optional<Complaint> trouble_;
};

}  // namespace

Result<CsvTable> read_csv(std::string_view text, const std::string& source, const ColumnMap& map) {
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  if (text.substr(0, 4096).find('\0') != std::string_view::npos) {
    return complain("The file is not plain text (it holds zero bytes).", source, "Save it as CSV in UTF-8.");
  }
  return CsvReader{source, map}.read(text);
}

}  // namespace coldstroke::daq
