// SPDX-License-Identifier: GPL-3.0-or-later
//
// That every header compiles alone is proven by the build (target coldstroke_headers_alone). Here: that no header was
// left out of it, and that it can fail.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "tests/house/invented_tree.hpp"
#include "tests/house/source_tree.hpp"

namespace coldstroke::house {
namespace {

TEST(HeadersAlone, NoHeaderIsLeftOutOfTheBuild) {
  const SourceTree tree = read_source_tree(COLDSTROKE_SOURCE_DIR);
  std::size_t headers = 0;
  for (const SourceFile& file : tree.files) {
    if (!is_header(file.path)) continue;
    ++headers;
    std::string name = file.path;
    std::ranges::replace(name, '/', '.');
    EXPECT_TRUE(std::filesystem::exists(std::string{COLDSTROKE_HEADERS_ALONE} + "/" + name + ".cpp"))
        << file.path << " is not compiled alone. Remedy: run cmake again.";
  }
  EXPECT_GT(headers, 20U);
}

// What the build does with each header, on one that leans on its neighbours and one that does not.
TEST(HeadersAlone, AHeaderThatLeansOnItsNeighboursDoesNotCompile) {
  const InventedTree tree{{
      {"leaning.hpp", "#pragma once\ninline std::size_t length(const std::string& text) { return text.size(); }\n"},
      {"standing.hpp",
       "#pragma once\n#include <string>\ninline std::size_t length(const std::string& text) { return text.size(); }\n"},
      {"leaning.cpp", "#include \"leaning.hpp\"\n#include \"leaning.hpp\"\n"},
      {"standing.cpp", "#include \"standing.hpp\"\n#include \"standing.hpp\"\n"},
  }};
  const auto compile = [&](const std::string& source) {
    const std::string command =
        std::string{COLDSTROKE_CXX} + " -std=c++20 -fsyntax-only '" + (tree.root() / source).string() + "' 2>/dev/null";
    return std::system(command.c_str());
  };
  EXPECT_EQ(compile("standing.cpp"), 0);
  EXPECT_NE(compile("leaning.cpp"), 0);
}

}  // namespace
}  // namespace coldstroke::house
