// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/house/source_tree.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <sstream>

namespace coldstroke::house {
namespace {

namespace fs = std::filesystem;

bool is_left_out(const fs::path& folder) {
  const std::string name = folder.filename().string();
  return name == "build" || name == ".git" || name == ".cache" || name == "__pycache__" || name.starts_with("demo-output");
}

std::vector<std::string> split(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream{text};
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  return lines;
}

}  // namespace

SourceTree read_source_tree(const fs::path& root) {
  SourceTree tree;
  for (auto entry = fs::recursive_directory_iterator{root}; entry != fs::recursive_directory_iterator{}; ++entry) {
    if (entry->is_directory() && is_left_out(entry->path())) {
      entry.disable_recursion_pending();
      continue;
    }
    if (is_left_out(entry->path())) continue;  // a worktree's .git is a file
    const std::string path = entry->path().lexically_relative(root).generic_string();
    tree.paths.insert(path);
    if (!entry->is_regular_file()) continue;
    std::ifstream stream{entry->path(), std::ios::binary};
    const std::string text{std::istreambuf_iterator<char>{stream}, {}};
    if (text.find('\0') == std::string::npos) tree.files.push_back({path, split(text)});
  }
  std::ranges::sort(tree.files, {}, &SourceFile::path);
  return tree;
}

std::string to_text(const std::vector<Breach>& breaches) {
  std::string text;
  for (const Breach& breach : breaches) {
    text += breach.file + ":" + std::to_string(breach.line) + ": " + breach.what + ". Remedy: " + breach.remedy + ".\n";
  }
  return text;
}

const SourceFile* find_file(const SourceTree& tree, std::string_view path) {
  const auto at = std::ranges::find(tree.files, path, &SourceFile::path);
  return at == tree.files.end() ? nullptr : &*at;
}

bool is_header(std::string_view path) { return path.ends_with(".hpp") || path.ends_with(".h"); }

bool is_code(std::string_view path) { return is_header(path) || path.ends_with(".cpp") || path.ends_with(".c"); }

bool is_below(std::string_view path, std::string_view folder) {
  return path.starts_with(folder) && (path.size() == folder.size() || path[folder.size()] == '/');
}

std::string_view without_comment(std::string_view line) { return line.substr(0, line.find("//")); }

}  // namespace coldstroke::house
