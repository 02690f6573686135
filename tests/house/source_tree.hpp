// SPDX-License-Identifier: GPL-3.0-or-later
//
// The source tree as text, for tests that read it. The rules beside this file are functions over such a tree, so each
// rule is also tried on small invented trees in which it must speak up.
#pragma once

#include <filesystem>
#include <set>
#include <string>
#include <string_view>
#include <vector>

namespace coldstroke::house {

/// One text file: path from the root with '/', content split at newlines.
struct SourceFile {
  std::string path;
  std::vector<std::string> lines;
};

struct SourceTree {
  std::vector<SourceFile> files;  ///< ascending by path; files holding a NUL byte (pictures) are not here, but in `paths`
  std::set<std::string> paths;    ///< every file and folder
};

/// Where a rule is broken, and what to do about it. `line` counts from 1; 0: the file as a whole.
struct Breach {
  std::string file;
  std::size_t line = 0;
  std::string what, remedy;
};

/// Reads everything below `root` except version control, build output and what the demo leaves behind.
[[nodiscard]] SourceTree read_source_tree(const std::filesystem::path& root);

/// One breach a line: "file:line: what. Remedy: remedy". Empty for none.
[[nodiscard]] std::string to_text(const std::vector<Breach>& breaches);

/// The text file of this path, or nullptr.
[[nodiscard]] const SourceFile* find_file(const SourceTree& tree, std::string_view path);

/// C and C++ sources and headers.
[[nodiscard]] bool is_code(std::string_view path);
/// .hpp and .h.
[[nodiscard]] bool is_header(std::string_view path);
/// `path` is `folder` itself or below it.
[[nodiscard]] bool is_below(std::string_view path, std::string_view folder);
/// The line up to a // comment. Knows no strings: good enough for code that is formatted alike.
[[nodiscard]] std::string_view without_comment(std::string_view line);

}  // namespace coldstroke::house
