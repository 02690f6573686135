// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/house/text_rules.hpp"

#include <gtest/gtest.h>

#include <string>

#include "tests/house/invented_tree.hpp"

namespace coldstroke::house {
namespace {

const std::string kLicence = "// SPDX-License-Identifier: GPL-3.0-or-later\n";

std::string lines(std::size_t count) {
  std::string text;
  for (std::size_t k = 0; k < count; ++k) text += "int a;\n";
  return text;
}

// The only breach, as "file:line", or the whole text if there is none or more than one.
std::string only(const std::vector<Breach>& breaches) {
  if (breaches.size() != 1 || breaches[0].remedy.empty()) return "not one: " + to_text(breaches);
  return breaches[0].file + ":" + std::to_string(breaches[0].line);
}

TEST(LicenceLines, AreAskedOfSourcesScriptsAndBuildFiles) {
  const InventedTree tree{{
      {"daq/a.cpp", kLicence},
      {"daq/CMakeLists.txt", "# SPDX-License-Identifier: GPL-3.0-or-later\n"},
      {"scripts/a", "#!/bin/sh\n# SPDX-License-Identifier: GPL-3.0-or-later\n"},
      {"docs/a.md", "no licence asked of prose\n"},
      {"daq/b.hpp", "\n" + kLicence},
  }};
  EXPECT_EQ(only(check_licence_lines(tree.read())), "daq/b.hpp:1");
}

TEST(LicenceLines, AnEmptySourceHasNone) {
  const InventedTree tree{{{"daq/a.cpp", ""}}};
  EXPECT_EQ(only(check_licence_lines(tree.read())), "daq/a.cpp:1");
}

TEST(FileSizes, FourHundredLinesAreAllowedAndOneMoreIsNot) {
  const InventedTree tree{{{"daq/a.cpp", lines(400)}, {"daq/b.cpp", lines(401)}, {"docs/a.md", lines(900)}}};
  EXPECT_EQ(only(check_file_sizes(tree.read())), "daq/b.cpp:401");
}

TEST(FileSizes, AListedFileMayBeLongIfAReasonIsGiven) {
  const InventedTree with{{{"daq/a.cpp", lines(500)}, {"tests/house/long_files.txt", "# comment\ndaq/a.cpp  one flat table\n"}}};
  EXPECT_EQ(to_text(check_file_sizes(with.read())), "");
  const InventedTree without{{{"daq/a.cpp", lines(500)}, {"tests/house/long_files.txt", "# comment\ndaq/a.cpp\n"}}};
  EXPECT_EQ(only(check_file_sizes(without.read())), "tests/house/long_files.txt:2");
}

TEST(FileSizes, TheListHoldsOnlyLongFilesThatExist) {
  const InventedTree shrunk{{{"daq/a.cpp", lines(10)}, {"tests/house/long_files.txt", "daq/a.cpp  was a table\n"}}};
  EXPECT_EQ(only(check_file_sizes(shrunk.read())), "daq/a.cpp:10");
  const InventedTree gone{{{"tests/house/long_files.txt", "daq/a.cpp  was a table\n"}}};
  EXPECT_EQ(only(check_file_sizes(gone.read())), "tests/house/long_files.txt:1");
}

TEST(Results, ABareExpectedIsReportedOutsideItsHeader) {
  const std::string bare = std::string{"tl::"} + "expected<int, int> f();\n";
  const InventedTree tree{{{"analysis/result.hpp", bare}, {"daq/a.hpp", "// " + bare + "\n" + bare}}};
  EXPECT_EQ(only(check_results(tree.read())), "daq/a.hpp:3");
}

TEST(MachinePaths, AreFoundInAnyTextFile) {
  const std::string path = std::string{"/ho"} + "me/somebody/rig.toml";
  const InventedTree tree{
      {{"docs/a.md", "fine: https://example.org" + path + "\nsee " + path + "\n"}, {"docs/b.md", "docs/home/a is ours\n"}}};
  EXPECT_EQ(only(check_machine_paths(tree.read())), "docs/a.md:2");
  const InventedTree other{{{"daq/a.cpp", std::string{"open(\"/wo"} + "rk/main/a\");\n"}}};
  EXPECT_EQ(only(check_machine_paths(other.read())), "daq/a.cpp:1");
}

TEST(UnfinishedMarks, AreFoundInCodeAndAWidgetPropertyIsNotOne) {
  const std::string property = std::string{"field->setPlace"} + "holderText(name);\n";
  const InventedTree tree{{{"gui/a.cpp", property + std::string{"// TO"} + "DO: the rest\n"}, {"gui/b.cpp", property}}};
  EXPECT_EQ(only(check_unfinished_marks(tree.read())), "gui/a.cpp:2");
}

TEST(TestsAreReal, ASwitchedOffTestIsReported) {
  for (const std::string& line : {std::string{"GTEST_"} + "SKIP();", std::string{"TEST(A, DIS"} + "ABLED_B) {}",
                                  std::string{"EXPECT_TRUE(tr"} + "ue);", std::string{"QS"} + "KIP(\"no port\");"}) {
    const InventedTree tree{{{"tests/daq/a_test.cpp", line + "\n"}}};
    EXPECT_EQ(only(check_tests_are_real(tree.read())), "tests/daq/a_test.cpp:1") << line;
  }
}

TEST(TestsAreReal, ASleepIsReportedInTestsOnly) {
  const std::string sleep = std::string{"std::this_thread::sleep_"} + "for(1s);\n";
  const InventedTree tree{{{"tests/daq/a_test.cpp", sleep}, {"daq/virtual_rig/a.cpp", sleep}}};
  EXPECT_EQ(only(check_tests_are_real(tree.read())), "tests/daq/a_test.cpp:1");
}

TEST(EverythingIsBuilt, ASourceThatNoListNamesIsReported) {
  const InventedTree tree{{
      {"daq/CMakeLists.txt", "add_library(daq STATIC stream/a.cpp b.cpp)\n"},
      {"daq/stream/a.cpp", ""},
      {"daq/b.cpp", ""},
      {"daq/stream/b.cpp", ""},  // named only as the other b.cpp
  }};
  EXPECT_EQ(only(check_everything_is_built(tree.read())), "daq/stream/b.cpp:0");
}

TEST(Names, ADrawerForLeftoversIsReported) {
  const InventedTree tree{{{std::string{"daq/stream/string_uti"} + "ls.cpp", ""}, {"daq/stream/clock_alignment.cpp", ""}}};
  EXPECT_EQ(check_names(tree.read()).size(), 1U);
}

TEST(SourceTree, LeavesOutBuildOutputAndPictures) {
  const InventedTree tree{{
      {"build/release/a.cpp", ""},
      {"demo-output-2/a.cpp", ""},
      {"docs/screenshots/a.png", std::string{"P\0G", 3}},
      {"daq/a.cpp", "one\ntwo\n"},
  }};
  const SourceTree read = tree.read();
  ASSERT_EQ(read.files.size(), 1U);
  EXPECT_EQ(read.files[0].path, "daq/a.cpp");
  EXPECT_EQ(read.files[0].lines, (std::vector<std::string>{"one", "two"}));
  EXPECT_TRUE(read.paths.contains("docs/screenshots/a.png"));
  EXPECT_FALSE(read.paths.contains("build/release/a.cpp"));
}

}  // namespace
}  // namespace coldstroke::house
