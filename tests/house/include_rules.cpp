// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/house/include_rules.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <optional>
#include <regex>
#include <span>
#include <string>
#include <string_view>

namespace coldstroke::house {
namespace {

using Names = std::span<const std::string_view>;

// What a folder may include. The row with the longest matching folder counts, alone: nothing is inherited.
struct FolderRow {
  std::string_view folder;
  Names ours;       // folders of this project
  Names libraries;  // first part of <part/...>, or "Qt"
  enum class Standard { freestanding, pure, any } standard;
};

constexpr std::array<std::string_view, 5> kEverything{"protocol", "analysis", "daq", "gui", "tests"};
constexpr std::array<std::string_view, 1> kBoard{"protocol/board"};
constexpr std::array<std::string_view, 1> kProtocol{"protocol"};
constexpr std::array<std::string_view, 1> kAnalysis{"analysis"};
constexpr std::array<std::string_view, 2> kSignal{"analysis/result.hpp", "analysis/signal"};
// Within daq and gui the later folders stand on the earlier ones; bench and commands put everything together.
constexpr std::array<std::string_view, 3> kSetup{"protocol", "analysis", "daq/setup"};
constexpr std::array<std::string_view, 4> kStream{"protocol", "analysis", "daq/setup", "daq/stream"};
constexpr std::array<std::string_view, 5> kLink{"protocol", "analysis", "daq/setup", "daq/stream", "daq/link"};
constexpr std::array<std::string_view, 4> kSequence{"protocol", "analysis", "daq/setup", "daq/sequence"};
constexpr std::array<std::string_view, 5> kRecord{"protocol", "analysis", "daq/setup", "daq/stream", "daq/record"};
constexpr std::array<std::string_view, 4> kVirtualRig{"protocol", "analysis", "daq/setup", "daq/virtual_rig"};
constexpr std::array<std::string_view, 6> kDetector{"protocol",   "analysis",        "daq/setup",
                                                    "daq/record", "daq/virtual_rig", "daq/detector"};
constexpr std::array<std::string_view, 7> kPlayback{"protocol", "analysis",        "daq/setup",   "daq/stream",
                                                    "daq/link", "daq/virtual_rig", "daq/playback"};
constexpr std::array<std::string_view, 3> kBench{"protocol", "analysis", "daq"};
constexpr std::array<std::string_view, 4> kReport{"protocol", "analysis", "daq", "gui/report"};
constexpr std::array<std::string_view, 5> kWindow{"protocol", "analysis", "daq", "gui/report", "gui/window"};
constexpr std::array<std::string_view, 4> kProgram{"protocol", "analysis", "daq", "gui"};

// "unsupported" is Eigen's own folder for what it does not promise to keep, its Levenberg-Marquardt solver among it.
constexpr std::array<std::string_view, 4> kNumberLibraries{"Eigen", "unsupported", "boost", "tl"};
constexpr std::array<std::string_view, 5> kDaqLibraries{"Eigen", "boost", "tl", "nlohmann", "spdlog"};
constexpr std::array<std::string_view, 7> kArchiveLibraries{"Eigen", "boost", "tl", "nlohmann", "spdlog", "SQLiteCpp", "hdf5.h"};
constexpr std::array<std::string_view, 6> kSetupLibraries{"Eigen", "boost", "tl", "nlohmann", "spdlog", "toml++"};
constexpr std::array<std::string_view, 6> kQtLibraries{"Eigen", "boost", "tl", "nlohmann", "spdlog", "Qt"};
constexpr std::array<std::string_view, 7> kGuiLibraries{"Eigen", "boost", "tl", "nlohmann", "spdlog", "Qt", "CLI"};
constexpr std::array<std::string_view, 12> kTestLibraries{"Eigen", "boost",     "tl",     "nlohmann", "spdlog", "Qt",
                                                          "CLI",   "SQLiteCpp", "toml++", "gtest",    "gmock",  "benchmark"};

using enum FolderRow::Standard;
constexpr std::array kRows{
    FolderRow{"protocol/board", kBoard, {}, freestanding},
    FolderRow{"protocol", kProtocol, {}, pure},
    FolderRow{"analysis", kAnalysis, kNumberLibraries, pure},
    FolderRow{"analysis/signal", kSignal, kNumberLibraries, pure},
    FolderRow{"daq/setup", kSetup, kSetupLibraries, any},
    FolderRow{"daq/stream", kStream, kDaqLibraries, any},
    FolderRow{"daq/link", kLink, kQtLibraries, any},
    FolderRow{"daq/sequence", kSequence, kDaqLibraries, any},
    FolderRow{"daq/record", kRecord, kArchiveLibraries, any},
    FolderRow{"daq/virtual_rig", kVirtualRig, kSetupLibraries, any},
    FolderRow{"daq/detector", kDetector, kSetupLibraries, any},
    FolderRow{"daq/playback", kPlayback, kQtLibraries, any},
    FolderRow{"daq/bench", kBench, kQtLibraries, any},
    FolderRow{"gui/report", kReport, kGuiLibraries, any},
    FolderRow{"gui/window", kWindow, kGuiLibraries, any},
    FolderRow{"gui", kProgram, kGuiLibraries, any},
    FolderRow{"tests", kEverything, kTestLibraries, any},
};

// All that freestanding C11 gives and the boards need.
constexpr std::array<std::string_view, 4> kFreestanding{"stdbool.h", "stddef.h", "stdint.h", "limits.h"};
// Standard headers that bring a file, a thread, a clock, a terminal or a locale. Numbers and bytes have no use for them.
constexpr std::array<std::string_view, 23> kImpure{
    "barrier",    "chrono",    "clocale",      "condition_variable", "coroutine",  "csignal",    "ctime",
    "filesystem", "fstream",   "future",       "iostream",           "latch",      "locale",     "mutex",
    "print",      "semaphore", "shared_mutex", "signal.h",           "stop_token", "syncstream", "thread",
    "time.h",     "unistd.h"};
// Values of Qt Core that hold no signal, thread or event loop: good anywhere in daq.
constexpr std::array<std::string_view, 9> kQtValues{"QByteArray",  "QByteArrayView", "QCryptographicHash",
                                                    "QDateTime",   "QLockFile",      "QString",
                                                    "QStringView", "QTimeZone",      "QUrl"};
// Qt classes that daq may use live in Core and SerialPort; the window's modules are recognised by these names.
constexpr std::array<std::string_view, 10> kWindowQt{"QtWidgets", "QtGui",  "QtCharts", "QApplication", "QGuiApplication",
                                                     "QWidget",   "QChart", "QPainter", "QPixmap",      "QMessageBox"};

bool contains(Names names, std::string_view name) { return std::ranges::find(names, name) != names.end(); }

const FolderRow* row_for(std::string_view path) {
  const FolderRow* best = nullptr;
  for (const FolderRow& row : kRows) {
    if (is_below(path, row.folder) && (best == nullptr || row.folder.size() > best->folder.size())) best = &row;
  }
  return best;
}

struct Include {
  bool quoted = false;
  std::string_view name;
};

std::optional<Include> parse_include(std::string_view line) {
  const std::size_t hash = line.find_first_not_of(" \t");
  if (hash == std::string_view::npos || line[hash] != '#') return std::nullopt;
  const std::size_t word = line.find_first_not_of(" \t", hash + 1);
  if (word == std::string_view::npos || !line.substr(word).starts_with("include")) return std::nullopt;
  const std::size_t open = line.find_first_of("<\"", word);
  if (open == std::string_view::npos) return std::nullopt;
  const bool quoted = line[open] == '"';
  const std::size_t close = line.find(quoted ? '"' : '>', open + 1);
  if (close == std::string_view::npos) return std::nullopt;
  return Include{quoted, line.substr(open + 1, close - open - 1)};
}

bool is_qt(std::string_view name) {
  return name.size() > 1 && name[0] == 'Q' && (std::isupper(static_cast<unsigned char>(name[1])) != 0 || name[1] == 't');
}

std::string list(Names names) {
  std::string text;
  for (std::string_view name : names) text += (text.empty() ? "" : ", ") + std::string{name};
  return text.empty() ? "nothing" : text;
}

std::optional<Breach> judge_ours(const SourceTree& tree, const FolderRow& row, std::string_view name) {
  if (name.ends_with(".moc")) return std::nullopt;  // generated beside the source that names it
  if (!tree.paths.contains(std::string{name})) {
    return Breach{{},
                  0,
                  "\"" + std::string{name} + "\" is not a file of this project seen from the root",
                  "write the path from the repository root; system and library headers go in <>"};
  }
  const bool allowed = std::ranges::any_of(row.ours, [&](std::string_view folder) { return is_below(name, folder); });
  if (allowed) return std::nullopt;
  return Breach{
      {},
      0,
      std::string{row.folder} + " may not know " + std::string{name},
      std::string{row.folder} + " may include from: " + list(row.ours) + "; move what is shared down, or the caller up"};
}

std::optional<Breach> judge_library(const FolderRow& row, std::string_view library, std::string_view name) {
  if (library == "Qt" && is_below(row.folder, "daq") && contains(kQtValues, name)) return std::nullopt;
  if (!contains(row.libraries, library)) {
    return Breach{{},
                  0,
                  std::string{row.folder} + " may not use <" + std::string{name} + ">",
                  "libraries allowed there: " + list(row.libraries) + "; do this work in a folder that may"};
  }
  const bool window = std::ranges::any_of(kWindowQt, [&](std::string_view part) { return name.starts_with(part); });
  if (window && is_below(row.folder, "daq")) {
    return Breach{
        {}, 0, "<" + std::string{name} + "> belongs to the window", "daq uses Qt Core and Qt SerialPort only; draw in gui"};
  }
  return std::nullopt;
}

std::optional<Breach> judge_standard(const FolderRow& row, std::string_view name) {
  if (row.standard == freestanding && !contains(kFreestanding, name)) {
    return Breach{
        {}, 0, "board code includes <" + std::string{name} + ">", "board code is freestanding C11: only " + list(kFreestanding)};
  }
  if (row.standard == pure && (contains(kImpure, name) || name.starts_with("sys/"))) {
    return Breach{{},
                  0,
                  std::string{row.folder} + " includes <" + std::string{name} + ">",
                  "no file, thread, clock or terminal here: take what you need as an argument"};
  }
  return std::nullopt;
}

std::optional<Breach> judge(const SourceTree& tree, const FolderRow& row, const Include& include) {
  if (include.quoted) return judge_ours(tree, row, include.name);
  if (is_qt(include.name)) return judge_library(row, "Qt", include.name);
  if (include.name == "sqlite3.h") return judge_library(row, "SQLiteCpp", include.name);
  const std::size_t slash = include.name.find('/');
  const std::string_view first = include.name.substr(0, slash);
  if (slash != std::string_view::npos && contains(kEverything, first)) {
    return Breach{{}, 0, "a file of this project in <>", "write #include \"" + std::string{include.name} + "\""};
  }
  // POSIX headers in folders look like library headers but come with the system.
  const bool system = first == "sys" || first == "netinet" || first == "asm" || first == "linux";
  if (slash != std::string_view::npos && !system) return judge_library(row, first, include.name);
  return judge_standard(row, include.name);
}

}  // namespace

std::vector<Breach> check_includes(const SourceTree& tree) {
  // <cstdio> is let in for snprintf, since this compiler has no std::format; what else it brings is not.
  static const std::regex kOutside{"\\b(fopen|freopen|fread|fwrite|fgets|fputs|fprintf|printf|puts|getenv|system)\\s*\\("};
  std::vector<Breach> breaches;
  for (const SourceFile& file : tree.files) {
    if (!is_code(file.path)) continue;
    const FolderRow* row = row_for(file.path);
    if (row == nullptr) {
      breaches.push_back({file.path, 0, "code outside the house map",
                          "put it where the map has a place, or give its folder a row in tests/house/include_rules.cpp and a "
                          "line in DEVELOPERS.md"});
      continue;
    }
    for (std::size_t k = 0; k < file.lines.size(); ++k) {
      if (row->standard != any && std::regex_search(std::string{without_comment(file.lines[k])}, kOutside)) {
        breaches.push_back({file.path, k + 1, std::string{row->folder} + " reaches outside its arguments",
                            "return the value or the text and let the caller print, read or write"});
      }
      const std::optional<Include> include = parse_include(file.lines[k]);
      if (!include) continue;
      if (std::optional<Breach> breach = judge(tree, *row, *include)) {
        breach->file = file.path;
        breach->line = k + 1;
        breaches.push_back(*std::move(breach));
      }
    }
  }
  return breaches;
}

std::vector<Breach> check_qobjects(const SourceTree& tree) {
  constexpr std::array<std::string_view, 4> kHomes{"daq/link", "daq/bench", "gui", "tests"};
  constexpr std::string_view kMacro = "Q_OBJECT";
  std::vector<Breach> breaches;
  for (const SourceFile& file : tree.files) {
    if (!is_code(file.path)) continue;
    const bool home = std::ranges::any_of(kHomes, [&](std::string_view folder) { return is_below(file.path, folder); });
    for (std::size_t k = 0; k < file.lines.size(); ++k) {
      const std::string_view line = without_comment(file.lines[k]);
      const std::size_t at = line.find(kMacro);
      // In a string it is a word, not a class: this very file speaks of it.
      if (at == std::string_view::npos || line.substr(0, at).find('"') != std::string_view::npos) continue;
      if (!home) {
        breaches.push_back({file.path, k + 1, "a QObject outside daq/link, daq/bench and gui",
                            "make it a plain class; let daq/link or daq/bench own the signal"});
      }
      if (line.find_first_not_of(" \t") != at) {
        breaches.push_back({file.path, k + 1, "Q_OBJECT is not first on its line", "put it on a line of its own"});
      }
    }
  }
  return breaches;
}

}  // namespace coldstroke::house
