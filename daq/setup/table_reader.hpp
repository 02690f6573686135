// SPDX-License-Identifier: GPL-3.0-or-later
//
// Typed reading of TOML tables that collects every problem with its line and key instead of stopping at the first.
#pragma once

#include <toml++/toml.h>

#include <initializer_list>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "analysis/result.hpp"

namespace coldstroke::daq {

/// Everything found wrong with one file.
class Problems {
 public:
  /// `kind` and `explained`: what the file is and the document on its keys: "setup", "docs/setup.md".
  Problems(std::string source, std::string kind, std::string explained)
      : source_{std::move(source)}, kind_{std::move(kind)}, explained_{std::move(explained)} {}
  /// Lines from `first_line` on come from another file, `source`, and count from 1 there.
  void appended(unsigned first_line, std::string source) { first_appended_line_ = first_line, appended_ = std::move(source); }
  /// "FILE, line N"
  [[nodiscard]] std::string place(unsigned line) const;
  /// `line` 0: no line known. `what` is without, `advice` with its full stop.
  void add(unsigned line, const std::string& key, const std::string& what, const std::string& advice);
  [[nodiscard]] bool empty() const { return found_.empty(); }
  /// One problem becomes one complaint; several are listed line by line in `what`.
  [[nodiscard]] Complaint complaint() const;

 private:
  struct Problem {
    std::string where, what, advice;
  };
  std::string source_, kind_, explained_, appended_;
  unsigned first_appended_line_ = 0;  ///< 0: nothing is appended
  std::vector<Problem> found_;
};

/// The document in `text`. Complains with line and column by `places`; `shown` says where a whole one stands ("docs/setup.md
/// shows a complete one").
[[nodiscard]] Result<toml::table> parse_document(std::string_view text, const Problems& places, const std::string& shown);

/// A number as TOML text: the fewest digits that read back as the same one, with a point, so that it is a float.
[[nodiscard]] std::string toml_number(double value);
/// Words as TOML text, in quotes.
[[nodiscard]] std::string toml_quoted(const std::string& words);

/// ISO 8601 calendar date, extended form YYYY-MM-DD, that exists.
[[nodiscard]] bool is_date(const std::string& text);

/// Closed interval; with `above_low` the lower end itself is refused.
struct Bounds {
  double low = 0.0, high = 0.0;
  bool above_low = false;
};

/// The nearest of `known` by edit distance, if it is near enough to be a slip of the finger.
[[nodiscard]] std::optional<std::string> nearest(std::string_view word, std::span<const std::string> known);

/// One table of the file. A value that cannot be had is reported and comes back as NaN, below `low`, or empty, so that reading
/// can go on; NaN compares false with everything, which keeps a check between two keys quiet when one of them is already
/// reported.
class TableReader {
 public:
  /// `table` may be null: the table itself was reported missing, and its keys are not reported again.
  TableReader(const toml::table* table, std::string path, Problems& problems);

  [[nodiscard]] bool has(std::string_view key);
  double number(std::string_view key, Bounds bounds, std::optional<double> fallback = {});
  std::optional<double> optional_number(std::string_view key, Bounds bounds);
  int whole(std::string_view key, int low, int high, std::optional<int> fallback = {});
  std::string text(std::string_view key, const std::optional<std::string>& fallback = {});
  /// Array of `least` to `most` texts, each used once.
  std::vector<std::string> texts(std::string_view key, std::size_t least, std::size_t most);
  /// All keys of the table, whatever they are called, each with a text.
  std::vector<std::pair<std::string, std::string>> text_pairs();
  /// One of the words; nothing if it is missing or another word, which is then reported.
  template <class E>
  std::optional<E> choice(std::string_view key, std::initializer_list<std::pair<std::string_view, E>> words);
  TableReader table(std::string_view key);
  /// Array of tables, `least` of them at least; `path` of each counts from 1: "channel[1]".
  std::vector<TableReader> tables(std::string_view key, std::size_t least, std::size_t most);

  /// `allowed` is a sentence without its full stop.
  void complain(std::string_view key, const std::string& what, const std::string& allowed);
  /// What the key asks for met a complaint of its own; `outcome`: "cannot be read".
  void pass_on(std::string_view key, const std::string& outcome, const Complaint& cause);
  /// Reports every key of the table that nobody asked for. Call last.
  void refuse_unknown();

 private:
  void add(std::string_view key, const std::string& what, const std::string& advice);
  const toml::node* find(std::string_view key);
  std::string full(std::string_view key) const;
  void wrong_word(std::string_view key, const std::string& word, const std::vector<std::string>& allowed);

  const toml::table* table_;
  std::string path_;
  Problems* problems_;
  std::vector<std::string> asked_;
};

template <class E>
std::optional<E> TableReader::choice(std::string_view key, std::initializer_list<std::pair<std::string_view, E>> words) {
  const std::string word = text(key);
  std::vector<std::string> allowed;
  for (const auto& [known, value] : words) {
    if (known == word) return value;
    allowed.emplace_back(known);
  }
  if (!word.empty()) wrong_word(key, word, allowed);
  return std::nullopt;
}

}  // namespace coldstroke::daq
