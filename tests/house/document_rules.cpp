// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/house/document_rules.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <filesystem>
#include <iterator>
#include <regex>
#include <set>
#include <string>
#include <string_view>

namespace coldstroke::house {
namespace {

namespace fs = std::filesystem;

std::string whole_text(const SourceTree& tree, std::string_view path) {
  std::string text;
  if (const SourceFile* file = find_file(tree, path)) {
    for (const std::string& line : file->lines) text += line + "\n";
  }
  return text;
}

// "a.{hpp,cpp}" to "a.hpp" and "a.cpp"; one pair of braces is enough for us.
std::vector<std::string> expand_braces(const std::string& path) {
  const std::size_t open = path.find('{'), close = path.find('}');
  if (open == std::string::npos || close == std::string::npos || close < open) return {path};
  std::vector<std::string> paths;
  const std::string inside = path.substr(open + 1, close - open - 1);
  for (std::size_t at = 0; at <= inside.size();) {
    const std::size_t comma = std::min(inside.find(',', at), inside.size());
    paths.push_back(path.substr(0, open) + inside.substr(at, comma - at) + path.substr(close + 1));
    at = comma + 1;
  }
  return paths;
}

bool exists(const SourceTree& tree, std::string path) {
  while (path.ends_with('/')) path.pop_back();
  const std::size_t star = path.find('*');
  if (star == std::string::npos) return tree.paths.contains(path);
  const std::string before = path.substr(0, star), after = path.substr(star + 1);
  return std::ranges::any_of(tree.paths, [&](const std::string& candidate) {
    return candidate.size() >= before.size() + after.size() && candidate.starts_with(before) && candidate.ends_with(after);
  });
}

// In backticks: what begins with one of our folders and is made of path characters only, or one of the files at the root.
bool looks_like_a_path(const std::string& text) {
  static const std::regex kPath{
      "(protocol|analysis|daq|gui|tests|docs|scripts|\\.ci)/[A-Za-z0-9_.{},*/"
      "-]*|[A-Z]+\\.md|LICENSE|CMake(Lists\\.txt|Presets\\.json)|"
      "\\.clang-(format|tidy)"};
  return std::regex_match(text, kPath);
}

void check_paths_in_line(const SourceTree& tree, const SourceFile& file, std::size_t number, std::vector<Breach>& breaches) {
  static const std::regex kTicked{"`([^`]+)`"};
  static const std::regex kLink{"\\]\\(([^)#\\s]+)[^)]*\\)"};
  const std::string& line = file.lines[number - 1];
  const auto missing = [&](const std::string& path) {
    breaches.push_back({file.path, number, path + " does not exist", "name the file as it is now, or take the mention out"});
  };
  for (auto match = std::sregex_iterator{line.begin(), line.end(), kTicked}; match != std::sregex_iterator{}; ++match) {
    const std::string path = (*match)[1];
    if (!looks_like_a_path(path)) continue;
    for (const std::string& one : expand_braces(path)) {
      if (!exists(tree, one)) missing(one);
    }
  }
  for (auto match = std::sregex_iterator{line.begin(), line.end(), kLink}; match != std::sregex_iterator{}; ++match) {
    const std::string target = (*match)[1];
    if (target.find("://") != std::string::npos) continue;
    const fs::path path = (fs::path{file.path}.parent_path() / target).lexically_normal();
    if (!exists(tree, path.generic_string())) missing(path.generic_string());
  }
}

std::string lower(std::string text) {
  std::ranges::transform(text, text.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

// Every first capture of `pattern` in `file`, with its line, must be found by `is_defined`.
template <class IsDefined>
void check_each(const SourceFile& file, const std::regex& pattern, const std::string& home, IsDefined is_defined,
                std::vector<Breach>& breaches) {
  for (std::size_t k = 0; k < file.lines.size(); ++k) {
    const std::string& line = file.lines[k];
    for (auto match = std::sregex_iterator{line.begin(), line.end(), pattern}; match != std::sregex_iterator{}; ++match) {
      const std::string name = (*match)[1];
      if (!is_defined(name))
        breaches.push_back({file.path, k + 1, name + " is not in " + home, "write it there, or take the mention out"});
    }
  }
}

}  // namespace

std::vector<Breach> check_named_files_exist(const SourceTree& tree) {
  static const std::regex kPage{"(docs/[a-z0-9-]+\\.md)"};
  std::vector<Breach> breaches;
  for (const SourceFile& file : tree.files) {
    if (is_code(file.path) && !is_below(file.path, "tests/house")) {
      check_each(
          file, kPage, "the tree", [&](const std::string& page) { return tree.paths.contains(page); }, breaches);
    }
    if (!file.path.ends_with(".md")) continue;
    bool in_fence = false;
    for (std::size_t k = 0; k < file.lines.size(); ++k) {
      if (file.lines[k].starts_with("```")) in_fence = !in_fence;
      if (!in_fence) check_paths_in_line(tree, file, k + 1, breaches);
    }
  }
  return breaches;
}

std::vector<Breach> check_house_map(const SourceTree& tree) {
  constexpr std::array<std::string_view, 4> kTop{"protocol", "analysis", "daq", "gui"};
  std::set<fs::path> folders;
  for (const SourceFile& file : tree.files) {
    const bool mapped = std::ranges::any_of(kTop, [&](std::string_view top) { return is_below(file.path, top); });
    if (!mapped || !is_code(file.path)) continue;
    const fs::path path{file.path};
    auto part = path.begin();
    fs::path folder = *part++;
    folders.insert(folder);
    if (std::distance(part, path.end()) > 1) folders.insert(folder / *part);
  }
  std::vector<Breach> breaches;
  const std::string map = whole_text(tree, "DEVELOPERS.md");
  for (const fs::path& folder : folders) {
    if (map.find(folder.filename().string() + "/") == std::string::npos) {
      breaches.push_back(
          {"DEVELOPERS.md", 0, folder.generic_string() + "/ is not in the house map", "add it with one line on what it holds"});
    }
  }
  return breaches;
}

std::vector<Breach> check_pages_and_verbs_documented(const SourceTree& tree) {
  constexpr std::string_view kHome = "docs/user-guide.md";
  static const std::regex kVerb{"add_subcommand\\(\\s*\"([a-z-]+)\""};
  const std::string guide = whole_text(tree, kHome);
  const auto documented = [&guide](const std::string& verb) {  // by itself, or below another: "coldstroke detector map"
    return std::regex_search(guide, std::regex{"coldstroke ([a-z-]+ )?" + verb + "\\b"});
  };
  const std::string guide_lower = lower(guide);
  std::vector<Breach> breaches;
  for (const SourceFile& file : tree.files) {
    if (!is_code(file.path) || !is_below(file.path, "gui")) continue;
    SourceFile joined = file;  // the formatter may put the name on the line after the call
    for (std::size_t k = 0; k + 1 < joined.lines.size(); ++k) {
      if (joined.lines[k].ends_with("add_subcommand(")) joined.lines[k] += joined.lines[k + 1];
    }
    check_each(joined, kVerb, std::string{kHome}, documented, breaches);
    const std::string name = fs::path{file.path}.filename().string();
    constexpr std::string_view kEnd = "_page.hpp";
    if (!name.ends_with(kEnd)) continue;
    const std::string page = name.substr(0, name.size() - kEnd.size()) + " page";
    if (guide_lower.find(page) == std::string::npos) {
      breaches.push_back(
          {file.path, 0, "the " + page + " is not in " + std::string{kHome}, "describe what it answers and its controls"});
    }
  }
  return breaches;
}

std::vector<Breach> check_definitions(const SourceTree& tree) {
  static const std::regex kMetric{"\"([a-z0-9]+_[a-z0-9_]+)\","};
  static const std::regex kType{"^  ([a-z_]+) = 0x[0-9a-fA-F]+,"};
  std::vector<Breach> breaches;
  const auto check = [&](std::string_view file, const std::regex& pattern, std::string_view home) {
    const std::string text = whole_text(tree, home);
    if (const SourceFile* found = find_file(tree, file)) {
      check_each(
          *found, pattern, std::string{home}, [&](const std::string& name) { return text.find(name) != std::string::npos; },
          breaches);
    }
  };
  check("analysis/trial/metric.hpp", kMetric, "docs/methods.md");
  check("protocol/wire/message.hpp", kType, "docs/wire.md");
  return breaches;
}

}  // namespace coldstroke::house
