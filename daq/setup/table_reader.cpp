// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/setup/table_reader.hpp"

#include <algorithm>
#include <cctype>
#include <chrono>
#include <cmath>
#include <limits>
#include <numeric>
#include <sstream>

#include "daq/setup/units.hpp"

namespace coldstroke::daq {
namespace {

constexpr std::size_t kTextLimit = 1000;

std::string plain(double value) {
  std::ostringstream out;
  out.precision(12);
  out << value;
  return out.str();
}

std::string words(Bounds bounds) {
  return (bounds.above_low ? "a number above " : "a number from ") + plain(bounds.low) + " to " + plain(bounds.high);
}

std::string kind(const toml::node& node) {
  switch (node.type()) {
    case toml::node_type::table:
      return "a table";
    case toml::node_type::array:
      return "an array";
    case toml::node_type::string:
      return "a text";
    case toml::node_type::integer:
      return "a whole number";
    case toml::node_type::floating_point:
      return "a number";
    case toml::node_type::boolean:
      return "true or false";
    default:
      return "a date or time";
  }
}

std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t above = row[j];
      row[j] = std::min({row[j] + 1, row[j - 1] + 1, diagonal + (a[i - 1] == b[j - 1] ? 0U : 1U)});
      diagonal = above;
    }
  }
  return row[b.size()];
}

std::string joined(const std::vector<std::string>& items) {
  std::string all;
  for (const std::string& item : items) all += (all.empty() ? "" : ", ") + item;
  return all;
}

}  // namespace

Result<toml::table> parse_document(std::string_view text, const Problems& places, const std::string& shown) {
  try {
    return toml::parse(text);
  } catch (const toml::parse_error& error) {
    return complain("The file is not TOML: " + std::string{error.description()},
                    places.place(error.source().begin.line) + ", column " + std::to_string(error.source().begin.column),
                    "Correct this place; the file is TOML 1.0 (toml.io), and " + shown + ".");
  }
}

bool is_date(const std::string& text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  int parts[3] = {0, 0, 0};
  std::size_t part = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (i == 4 || i == 7) {
      ++part;
    } else if (text[i] < '0' || text[i] > '9') {
      return false;
    } else {
      parts[part] = parts[part] * 10 + (text[i] - '0');
    }
  }
  return std::chrono::year_month_day{std::chrono::year{parts[0]}, std::chrono::month{static_cast<unsigned>(parts[1])},
                                     std::chrono::day{static_cast<unsigned>(parts[2])}}
      .ok();
}

std::string toml_number(double value) {
  std::string out = shortest(value);
  if (out.find_first_of(".e") == std::string::npos) out += ".0";
  return out;
}

std::string toml_quoted(const std::string& words) {
  std::ostringstream out;
  const toml::value<std::string> value{words};
  out << toml::toml_formatter{value, toml::toml_formatter::default_flags & ~toml::format_flags::allow_literal_strings &
                                         ~toml::format_flags::allow_multi_line_strings};
  return out.str();
}

std::optional<std::string> nearest(std::string_view word, std::span<const std::string> known) {
  std::optional<std::string> best;
  std::size_t least = 1 + std::max<std::size_t>(2, word.size() / 3);
  for (const std::string& candidate : known) {
    const std::size_t distance = edit_distance(word.substr(0, 100), candidate);
    if (distance < least) {
      least = distance;
      best = candidate;
    }
  }
  return best;
}

std::string Problems::place(unsigned line) const {
  if (line == 0) return source_;
  const bool in_appended = first_appended_line_ > 0 && line >= first_appended_line_;
  return (in_appended ? appended_ : source_) + ", line " + std::to_string(in_appended ? line - first_appended_line_ + 1 : line);
}

void Problems::add(unsigned line, const std::string& key, const std::string& what, const std::string& advice) {
  std::string where = place(line);
  if (!key.empty()) where += ", key " + key;
  found_.push_back({std::move(where), what, advice});
}

Complaint Problems::complaint() const {
  if (found_.size() == 1) return {found_[0].what, found_[0].where, found_[0].advice};
  std::string all = std::to_string(found_.size()) + " problems in the " + kind_ + ":";
  for (const Problem& problem : found_)
    all += "\n  " + problem.where + ": " + problem.what + (problem.what.ends_with('?') ? " " : ". ") + problem.advice;
  return {all, source_, "Correct these lines; " + explained_ + " explains every key."};
}

TableReader::TableReader(const toml::table* table, std::string path, Problems& problems)
    : table_{table}, path_{std::move(path)}, problems_{&problems} {}

std::string TableReader::full(std::string_view key) const {
  return path_.empty() ? std::string{key} : key.empty() ? path_ : path_ + "." + std::string{key};
}

const toml::node* TableReader::find(std::string_view key) {
  if (std::ranges::find(asked_, key) == asked_.end()) asked_.emplace_back(key);
  return table_ == nullptr ? nullptr : table_->get(key);
}

bool TableReader::has(std::string_view key) { return find(key) != nullptr; }

void TableReader::complain(std::string_view key, const std::string& what, const std::string& allowed) {
  add(key, what, "Allowed: " + allowed + ".");
}

void TableReader::pass_on(std::string_view key, const std::string& outcome, const Complaint& cause) {
  std::string what = outcome + ": " + cause.what, advice = cause.remedy;
  if (what.ends_with('.')) what.pop_back();
  if (!cause.where.empty()) what += " (" + cause.where + ")";
  if (!advice.ends_with('.')) advice += '.';
  advice.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(advice.front())));
  add(key, what, advice);
}

void TableReader::add(std::string_view key, const std::string& what, const std::string& advice) {
  if (table_ == nullptr) return;
  const toml::node* node = key.empty() ? nullptr : table_->get(key);
  problems_->add((node != nullptr ? *node : static_cast<const toml::node&>(*table_)).source().begin.line, full(key), what,
                 advice);
}

double TableReader::number(std::string_view key, Bounds bounds, std::optional<double> fallback) {
  const toml::node* node = find(key);
  if (node == nullptr) {
    if (!fallback) complain(key, "is missing", words(bounds));
    return fallback.value_or(std::numeric_limits<double>::quiet_NaN());
  }
  const auto value = node->is_number() ? node->value<double>() : std::nullopt;
  if (!value) {
    complain(key, "is " + kind(*node), words(bounds));
    return std::numeric_limits<double>::quiet_NaN();
  }
  const bool inside =
      std::isfinite(*value) && *value <= bounds.high && (bounds.above_low ? *value > bounds.low : *value >= bounds.low);
  if (!inside) {
    complain(key, "is " + plain(*value), words(bounds));
    return std::numeric_limits<double>::quiet_NaN();
  }
  return *value;
}

std::optional<double> TableReader::optional_number(std::string_view key, Bounds bounds) {
  if (!has(key)) return std::nullopt;
  return number(key, bounds);
}

int TableReader::whole(std::string_view key, int low, int high, std::optional<int> fallback) {
  const std::string allowed = "a whole number from " + std::to_string(low) + " to " + std::to_string(high);
  const toml::node* node = find(key);
  if (node == nullptr) {
    if (!fallback) complain(key, "is missing", allowed);
    return fallback.value_or(low - 1);
  }
  const toml::value<std::int64_t>* value = node->as_integer();
  if (value == nullptr) {
    complain(key, "is " + kind(*node), allowed);
    return low - 1;
  }
  if (value->get() < low || value->get() > high) {
    complain(key, "is " + std::to_string(value->get()), allowed);
    return low - 1;
  }
  return static_cast<int>(value->get());
}

std::string TableReader::text(std::string_view key, const std::optional<std::string>& fallback) {
  const toml::node* node = find(key);
  if (node == nullptr) {
    if (!fallback) complain(key, "is missing", "a text in quotes");
    return fallback.value_or("");
  }
  const toml::value<std::string>* value = node->as_string();
  if (value == nullptr) {
    complain(key, "is " + kind(*node), "a text in quotes");
    return "";
  }
  const std::string& text = value->get();
  const bool control = std::ranges::any_of(text, [](unsigned char c) { return c < 0x20 || c == 0x7F; });
  if (control || text.size() > kTextLimit) {
    complain(key, control ? "holds a control character or a line break" : "is " + std::to_string(text.size()) + " bytes long",
             "one line of at most " + std::to_string(kTextLimit) + " bytes");
    return "";
  }
  if (text.empty() && !fallback) complain(key, "is empty", "a text in quotes with at least one character");
  return text;
}

std::vector<std::string> TableReader::texts(std::string_view key, std::size_t least, std::size_t most) {
  const std::string allowed =
      "an array of " + std::to_string(least) + " to " + std::to_string(most) + " texts in quotes, each used once";
  std::vector<std::string> out;
  const toml::node* node = find(key);
  const toml::array* array = node == nullptr ? nullptr : node->as_array();
  if (array == nullptr) {
    complain(key, node == nullptr ? "is missing" : "is " + kind(*node), allowed);
    return out;
  }
  for (const toml::node& item : *array) {
    const toml::value<std::string>* value = item.as_string();
    const bool good = value != nullptr && !value->get().empty() && value->get().size() <= kTextLimit &&
                      std::ranges::none_of(value->get(), [](unsigned char c) { return c < 0x20 || c == 0x7F; });
    if (!good || std::ranges::find(out, value->get()) != out.end()) {
      complain(key, "holds something else than texts of one line, or one of them twice", allowed);
      return {};
    }
    out.push_back(value->get());
  }
  if (out.size() < least || out.size() > most) complain(key, "there are " + std::to_string(out.size()), allowed);
  return out;
}

std::vector<std::pair<std::string, std::string>> TableReader::text_pairs() {
  std::vector<std::pair<std::string, std::string>> out;
  if (table_ == nullptr) return out;
  for (const auto& [key, value] : *table_) {
    const std::string name{key.str()};
    out.emplace_back(name, text(name));
  }
  return out;
}

void TableReader::wrong_word(std::string_view key, const std::string& word, const std::vector<std::string>& allowed) {
  const auto close = nearest(word, allowed);
  complain(key, "is \"" + word + "\"" + (close ? ", did you mean \"" + *close + "\"?" : ""), "one of " + joined(allowed));
}

TableReader TableReader::table(std::string_view key) {
  const toml::node* node = find(key);
  if (node == nullptr) {
    complain(key, "is missing", "a table [" + full(key) + "]");
  } else if (!node->is_table()) {
    complain(key, "is " + kind(*node), "a table [" + full(key) + "]");
  }
  return {node == nullptr ? nullptr : node->as_table(), full(key), *problems_};
}

std::vector<TableReader> TableReader::tables(std::string_view key, std::size_t least, std::size_t most) {
  const std::string allowed = std::to_string(least) + " to " + std::to_string(most) + " tables [[" + full(key) + "]]";
  std::vector<TableReader> readers;
  const toml::node* node = find(key);
  if (node == nullptr) {
    if (least > 0) complain(key, "is missing", allowed);
    return readers;
  }
  const toml::array* array = node->as_array();
  const bool all_tables = array != nullptr && std::ranges::all_of(*array, [](const toml::node& item) { return item.is_table(); });
  if (!all_tables) {
    complain(key, "is " + (array == nullptr ? kind(*node) : std::string{"an array of other things than tables"}), allowed);
    return readers;
  }
  if (array->size() < least || array->size() > most) complain(key, "there are " + std::to_string(array->size()), allowed);
  for (std::size_t i = 0; i < std::min(array->size(), most); ++i) {
    readers.emplace_back((*array)[i].as_table(), full(key) + "[" + std::to_string(i + 1) + "]", *problems_);
  }
  return readers;
}

void TableReader::refuse_unknown() {
  if (table_ == nullptr) return;
  for (const auto& [key, value] : *table_) {
    const std::string name{key.str()};
    if (std::ranges::find(asked_, name) != asked_.end()) continue;
    const auto close = nearest(name, asked_);
    complain(name, "is not a known key" + (close ? ", did you mean " + *close + "?" : std::string{}), "here " + joined(asked_));
  }
}

}  // namespace coldstroke::daq
