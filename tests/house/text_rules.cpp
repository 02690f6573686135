// SPDX-License-Identifier: GPL-3.0-or-later
//
// Words looked for are written in two pieces, so that these rules do not find themselves.
#include "tests/house/text_rules.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <string_view>

namespace coldstroke::house {
namespace {

constexpr std::size_t kLongFile = 400;
constexpr std::string_view kLongFileList = "tests/house/long_files.txt";

bool is_build_file(std::string_view path) { return path.ends_with("CMakeLists.txt") || path.ends_with(".cmake"); }

bool is_script(const SourceFile& file) {
  return file.path.ends_with(".sh") || file.path.ends_with(".py") || (!file.lines.empty() && file.lines[0].starts_with("#!"));
}

bool is_source(const SourceFile& file) { return is_code(file.path) || is_build_file(file.path) || is_script(file); }

// One breach for each line of `file` in which `pattern` is found.
void note_matches(const SourceFile& file, const std::regex& pattern, const std::string& what, const std::string& remedy,
                  std::vector<Breach>& breaches) {
  for (std::size_t k = 0; k < file.lines.size(); ++k) {
    std::smatch match;
    if (std::regex_search(file.lines[k], match, pattern)) {
      breaches.push_back({file.path, k + 1, what + " (" + match.str() + ")", remedy});
    }
  }
}

}  // namespace

std::vector<Breach> check_licence_lines(const SourceTree& tree) {
  constexpr std::string_view kLicence = "SPDX-License-Identifier: GPL-3.0-or-later";
  std::vector<Breach> breaches;
  for (const SourceFile& file : tree.files) {
    if (!is_source(file) && !file.path.ends_with(".toml")) continue;
    const std::size_t line = !file.lines.empty() && file.lines[0].starts_with("#!") ? 1 : 0;
    if (file.lines.size() <= line || file.lines[line].find(kLicence) == std::string::npos) {
      breaches.push_back({file.path, line + 1, "no licence line", "begin with a comment: " + std::string{kLicence}});
    }
  }
  return breaches;
}

std::vector<Breach> check_file_sizes(const SourceTree& tree) {
  std::vector<Breach> breaches;
  std::map<std::string, std::size_t> listed;  // path -> line in the list
  if (const SourceFile* list = find_file(tree, kLongFileList)) {
    for (std::size_t k = 0; k < list->lines.size(); ++k) {
      std::istringstream words{list->lines[k]};
      std::string path, reason;
      if (!(words >> path) || path.starts_with('#')) continue;
      if (!(words >> reason)) breaches.push_back({list->path, k + 1, path + " has no reason", "say why it may be long"});
      listed[path] = k + 1;
    }
  }
  for (const SourceFile& file : tree.files) {
    if (!is_code(file.path) && !is_script(file)) continue;
    const bool on_list = listed.erase(file.path) > 0;
    if (file.lines.size() > kLongFile && !on_list) {
      breaches.push_back({file.path, file.lines.size(), "more than " + std::to_string(kLongFile) + " lines",
                          "ask what its two halves would be called and split it, or list it in " + std::string{kLongFileList} +
                              " with the reason"});
    } else if (file.lines.size() <= kLongFile && on_list) {
      breaches.push_back(
          {file.path, file.lines.size(), "listed as long and is not", "take it off " + std::string{kLongFileList}});
    }
  }
  for (const auto& [path, line] : listed) {
    breaches.push_back({std::string{kLongFileList}, line, path + " does not exist", "take it off the list"});
  }
  return breaches;
}

std::vector<Breach> check_results(const SourceTree& tree) {
  std::vector<Breach> breaches;
  const std::string bare = std::string{"tl::"} + "expected<";
  for (const SourceFile& file : tree.files) {
    if (!is_code(file.path) || file.path == "analysis/result.hpp") continue;
    for (std::size_t k = 0; k < file.lines.size(); ++k) {
      if (without_comment(file.lines[k]).find(bare) != std::string_view::npos) {
        breaches.push_back({file.path, k + 1, "a bare " + bare + "...>, which may be dropped unread",
                            "return coldstroke::Result from analysis/result.hpp"});
      }
    }
  }
  return breaches;
}

std::vector<Breach> check_machine_paths(const SourceTree& tree) {
  // A path that starts at the root: not preceded by something that makes it a part of a longer one.
  static const std::regex kPath{std::string{"(^|[^A-Za-z0-9_.~/-])/("} + "work|root|home|Users)/[A-Za-z0-9_.]|\\.\\./shar" +
                                "ed/"};
  std::vector<Breach> breaches;
  for (const SourceFile& file : tree.files) {
    note_matches(file, kPath, "a path of somebody's machine", "write it relative to the repository, or take it as an argument",
                 breaches);
  }
  return breaches;
}

std::vector<Breach> check_unfinished_marks(const SourceTree& tree) {
  static const std::regex kMark{std::string{"\\b(TO"} + "DO|FIX" + "ME|XX" + "X|HA" + "CK)\\b|\\b(not imple" + "mented|unimple" +
                                "mented|place" + "holder)\\b"};
  std::vector<Breach> breaches;
  for (const SourceFile& file : tree.files) {
    if (is_source(file))
      note_matches(file, kMark, "a mark of unfinished work", "finish it, or file an issue and take the mark out", breaches);
  }
  return breaches;
}

std::vector<Breach> check_tests_are_real(const SourceTree& tree) {
  static const std::regex kOff{std::string{"GTEST_"} + "SKIP|DIS" + "ABLED_|\\bQS" + "KIP\\b|(EXPECT|ASSERT)_TRUE\\(tr" +
                               "ue\\)|\\bSUCC" + "EED\\(\\)"};
  static const std::regex kSleep{std::string{"sleep_"} + "for\\(|\\busl" + "eep\\(|::msl" + "eep\\(|\\bqSl" + "eep\\(|\\bqWa" +
                                 "it\\("};
  std::vector<Breach> breaches;
  for (const SourceFile& file : tree.files) {
    if (!is_below(file.path, "tests") || !is_code(file.path)) continue;
    note_matches(file, kOff, "a test that is switched off or cannot fail", "let it run and let it be able to fail", breaches);
    note_matches(file, kSleep, "a test that sleeps", "wait for the condition itself, with a limit that only a failure reaches",
                 breaches);
  }
  return breaches;
}

std::vector<Breach> check_everything_is_built(const SourceTree& tree) {
  std::vector<Breach> breaches;
  for (const SourceFile& file : tree.files) {
    if (!file.path.ends_with(".cpp") && !file.path.ends_with(".c")) continue;
    bool named = false;
    for (std::filesystem::path folder = std::filesystem::path{file.path}.parent_path(); !named && !folder.empty();
         folder = folder.parent_path()) {
      const SourceFile* list = find_file(tree, (folder / "CMakeLists.txt").generic_string());
      if (list == nullptr) continue;
      const std::string name = file.path.substr(folder.generic_string().size() + 1);
      const auto names_it = [&](const std::string& line) {
        std::istringstream words{line};
        for (std::string word; words >> word;) {
          word.erase(std::remove_if(word.begin(), word.end(), [](char c) { return c == '(' || c == ')' || c == '"'; }),
                     word.end());
          if (word == name || word.ends_with("/" + name)) return true;
        }
        return false;
      };
      named = std::ranges::any_of(list->lines, names_it);
    }
    if (!named)
      breaches.push_back({file.path, 0, "no CMakeLists.txt names it", "add it to the file list of its folder, or delete it"});
  }
  return breaches;
}

std::vector<Breach> check_names(const SourceTree& tree) {
  const std::set<std::string, std::less<>> bad{"util",    "utils",    "common", "helper", "helpers",
                                               "manager", "managers", "misc",   "stuff"};
  std::vector<Breach> breaches;
  for (const std::string& path : tree.paths) {
    const std::string name = std::filesystem::path{path}.stem().string();
    std::istringstream words{name};
    for (std::string word; std::getline(words, word, '_');) {
      if (bad.contains(word)) {
        breaches.push_back(
            {path, 0, "\"" + word + "\" says nothing about what is inside", "name it for the thing of the trade it holds"});
      }
    }
  }
  return breaches;
}

}  // namespace coldstroke::house
