// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which column of a CSV file is what.
#include <algorithm>
#include <cctype>
#include <iterator>
#include <map>

#include "daq/record/csv_columns.hpp"

namespace coldstroke::daq {
namespace {

using analysis::Quantity;
using analysis::Role;

constexpr ColumnRole kRoles[] = {
    {kTimeWord, Dimension::time, Quantity::other, Role::other},
    {"force", Dimension::force, Quantity::force, Role::force},
    {"supply", Dimension::pressure, Quantity::gauge_pressure, Role::supply_pressure},
    {"chamber", Dimension::pressure, Quantity::gauge_pressure, Role::chamber_pressure},
    {"acceleration", Dimension::acceleration, Quantity::acceleration, Role::vehicle_acceleration},
    {"current", Dimension::current, Quantity::current, Role::dummy_load_current},
    {"lateral", Dimension::acceleration, Quantity::acceleration, Role::lateral_acceleration},
    {"lateral2", Dimension::acceleration, Quantity::acceleration, Role::second_lateral_acceleration},
    {"tilt", Dimension::angular_rate, Quantity::angular_rate, Role::tilt_rate},
    {"tilt2", Dimension::angular_rate, Quantity::angular_rate, Role::second_tilt_rate},
    {"temperature", Dimension::temperature, Quantity::temperature, Role::temperature},
    {kDetectorWord, Dimension::any, Quantity::other, Role::other},
};

std::string units_of(const ColumnRole& role) { return role.word == kDetectorWord ? "0/1" : unit_words(role.dimension); }

std::optional<double> factor_of(const ColumnRole& role, std::string_view unit) {
  if (role.word == kDetectorWord) return unit == "0/1" || unit.empty() ? std::optional{1.0} : std::nullopt;
  return to_si_factor(role.dimension, unit);
}

std::string lower_case(std::string_view text) {
  std::string lower{text};
  std::ranges::transform(lower, lower.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return lower;
}

/// What a header's own word means; "accel" is how loggers shorten one of them.
const ColumnRole* header_role(std::string_view word) {
  const std::string lower = lower_case(word);
  return column_role(lower == "accel" ? "acceleration" : lower);
}

/// A header taken apart: "force_N", "force [N]", "force (N)", "force".
struct HeaderParts {
  const ColumnRole* role = nullptr;
  std::string unit;
  bool bracketed = false;
};

HeaderParts take_apart(std::string_view header) {
  const auto open = header.find_first_of("[(");
  if (open != std::string_view::npos && (header.back() == ']' || header.back() == ')')) {
    std::string_view word = header.substr(0, open);
    while (!word.empty() && word.back() == ' ') word.remove_suffix(1);
    return {header_role(word), std::string{header.substr(open + 1, header.size() - open - 2)}, true};
  }
  const auto bar = header.find('_');
  const std::string_view unit = bar == std::string_view::npos ? std::string_view{} : header.substr(bar + 1);
  return {header_role(header.substr(0, bar)), std::string{unit}, false};
}

std::string quoted_list(const std::vector<std::string>& words) {
  std::string all;
  for (const std::string& word : words) all += (all.empty() ? "\"" : ", \"") + word + "\"";
  return all;
}

class HeaderReader {
 public:
  HeaderReader(const std::vector<std::string>& headers, const ColumnMap& map, const std::string& source)
      : headers_{headers}, map_{map}, where_{source + ", line 1"} {}

  Result<CsvTable> read() {
    for (const auto& [name, mapping] : map_) {
      if (std::ranges::find(headers_, name) == headers_.end()) {
        return complain("There is no column \"" + name + "\".", where_, "The columns are " + quoted_list(headers_) + ".");
      }
    }
    for (std::size_t i = 0; i < headers_.size(); ++i) {
      const auto mapped = map_.find(headers_[i]);
      const auto done = mapped != map_.end() ? take_mapped(i, mapped->second) : take_by_header(i);
      if (!done) return tl::unexpected{done.error()};
    }
    if (const auto done = settle_doubtful(); !done) return tl::unexpected{done.error()};
    if (table_.column(kTimeWord) == nullptr) return missing("time");
    return std::move(table_);
  }

 private:
  std::string at(std::size_t position) const {
    return where_ + ", column " + std::to_string(position + 1) + " \"" + headers_[position] + "\"";
  }

  tl::unexpected<Complaint> missing(const std::string& role) const {
    return complain(
        "There is no " + role + " column.", where_,
        "The columns are " + quoted_list(headers_) + ". Name one \"" + role + "_s\" or map it: COLUMN=" + role + ":s.");
  }

  tl::unexpected<Complaint> unknown_unit(std::size_t position, const ColumnRole& role, const std::string& unit) const {
    return complain(unit.empty() ? "The " + std::string{role.word} + " column has no unit."
                                 : "\"" + unit + "\" is not a unit of " + std::string{role.word} + ".",
                    at(position),
                    "Allowed: " + units_of(role) + ". Name the column \"" + std::string{role.word} +
                        "_UNIT\" or map it: COLUMN=" + std::string{role.word} + ":UNIT; or leave it out: COLUMN=ignore.");
  }

  Result<void> take(std::size_t position, const ColumnRole& role, double factor) {
    if (const CsvColumn* other = table_.column(role.word)) {
      return complain("Two columns are " + std::string{role.word} + ": \"" + other->header + "\" and this one.", at(position),
                      "Leave one out: COLUMN=ignore.");
    }
    table_.columns.push_back({headers_[position], &role, factor, position, {}});
    return {};
  }

  Result<void> take_mapped(std::size_t position, const ColumnMapping& mapping) {
    if (mapping.role == kIgnoreWord) {
      table_.notes.push_back("Column \"" + headers_[position] + "\" was left out as asked.");
      return {};
    }
    const ColumnRole* role = column_role(mapping.role);
    if (role == nullptr) {
      return complain("\"" + mapping.role + "\" is nothing a column can be.", at(position),
                      "Allowed: " + column_role_words() + ".");
    }
    const auto factor = factor_of(*role, mapping.unit);
    if (!factor) return unknown_unit(position, *role, mapping.unit);
    return take(position, *role, *factor);
  }

  Result<void> take_by_header(std::size_t position) {
    const HeaderParts parts = take_apart(headers_[position]);
    if (parts.role == nullptr) {
      table_.notes.push_back("Column \"" + headers_[position] + "\" was not used: its header names nothing known.");
      return {};
    }
    const auto factor = factor_of(*parts.role, parts.unit);
    if (factor) {
      table_.notes.push_back("Column \"" + headers_[position] + "\" was read as " + std::string{parts.role->word} +
                             (parts.unit.empty() ? "" : " in " + parts.unit) + ".");
      return take(position, *parts.role, *factor);
    }
    if (parts.bracketed) return unknown_unit(position, *parts.role, parts.unit);
    doubtful_.push_back(position);
    return {};
  }

  /// "force_raw" beside "force_N" is some other column; alone it is a force column whose unit nobody can guess.
  Result<void> settle_doubtful() {
    for (const std::size_t position : doubtful_) {
      const HeaderParts parts = take_apart(headers_[position]);
      if (table_.column(parts.role->word) == nullptr) return unknown_unit(position, *parts.role, parts.unit);
      table_.notes.push_back("Column \"" + headers_[position] + "\" was not used: another one is " +
                             std::string{parts.role->word} + ".");
    }
    return {};
  }

  const std::vector<std::string>& headers_;
  const ColumnMap& map_;
  std::string where_;
  CsvTable table_;
  std::vector<std::size_t> doubtful_;
};

}  // namespace

const ColumnRole* column_role(std::string_view word) {
  const auto* found = std::ranges::find(kRoles, word, &ColumnRole::word);
  return found == std::end(kRoles) ? nullptr : found;
}

std::string_view column_word(Role role) {
  const auto* found = std::ranges::find(kRoles, role, &ColumnRole::role);
  return role == Role::other || found == std::end(kRoles) ? "other" : found->word;
}

std::string column_role_words() {
  std::string all;
  for (const ColumnRole& role : kRoles) all += std::string{role.word} + ", ";
  return all + std::string{kIgnoreWord};
}

const CsvColumn* CsvTable::column(std::string_view role) const {
  const auto found = std::ranges::find_if(columns, [&](const CsvColumn& column) { return column.role->word == role; });
  return found == columns.end() ? nullptr : &*found;
}

Result<CsvTable> understand_headers(const std::vector<std::string>& headers, const ColumnMap& map, const std::string& source) {
  return HeaderReader{headers, map, source}.read();
}

Result<std::pair<std::string, ColumnMapping>> parse_column_mapping(std::string_view text) {
  const std::string form = "Write COLUMN=ROLE:UNIT, for example \"F1=force:lbf\"; roles are " + column_role_words() + ".";
  const auto equals = text.rfind('=');
  if (equals == std::string_view::npos || equals == 0)
    return complain("\"" + std::string{text} + "\" maps no column.", "column mapping", form);
  const std::string_view target = text.substr(equals + 1);
  const auto colon = target.find(':');
  const ColumnMapping mapping{std::string{target.substr(0, colon)},
                              colon == std::string_view::npos ? "" : std::string{target.substr(colon + 1)}};
  const ColumnRole* role = column_role(mapping.role);
  if (role == nullptr && mapping.role != kIgnoreWord) {
    return complain("\"" + mapping.role + "\" is nothing a column can be.", "column mapping " + std::string{text}, form);
  }
  if (role != nullptr && !factor_of(*role, mapping.unit)) {
    return complain("\"" + mapping.unit + "\" is not a unit of " + mapping.role + ".", "column mapping " + std::string{text},
                    "Allowed: " + units_of(*role) + ".");
  }
  return std::pair{std::string{text.substr(0, equals)}, mapping};
}

}  // namespace coldstroke::daq
