// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/house/document_rules.hpp"

#include <gtest/gtest.h>

#include "tests/house/invented_tree.hpp"

namespace coldstroke::house {
namespace {

TEST(NamedFiles, APathInBackticksMustExist) {
  const InventedTree tree{{
      {"daq/stream/history.hpp", ""},
      {"daq/stream/history.cpp", ""},
      {"docs/wire.md", ""},
      {"DEVELOPERS.md",
       "`daq/stream/`, `daq/stream/history.{hpp,cpp}`, `daq/*/history.hpp`, `docs/wire.md`, `coldstroke eject`, `build/demo`\n"
       "`daq/stream/future.hpp`\n"
       "`daq/stream/history.{hpp,md}`\n"
       "`README.md`\n"},
  }};
  const std::vector<Breach> breaches = check_named_files_exist(tree.read());
  ASSERT_EQ(breaches.size(), 3U) << to_text(breaches);
  EXPECT_EQ(breaches[0].line, 2U);
  EXPECT_EQ(breaches[1].line, 3U);
  EXPECT_EQ(breaches[1].what, "daq/stream/history.md does not exist");
  EXPECT_EQ(breaches[2].line, 4U);
}

TEST(NamedFiles, ARelativeLinkMustLeadSomewhere) {
  const InventedTree tree{{
      {"README.md", "[guide](docs/guide.md#start) [site](https://example.org/x) ![picture](docs/shot.png)\n"},
      {"docs/guide.md", "[home](../README.md)\n[wire](wire.md)\n"},
      {"docs/shot.png", "picture"},
  }};
  const std::vector<Breach> breaches = check_named_files_exist(tree.read());
  ASSERT_EQ(breaches.size(), 1U) << to_text(breaches);
  EXPECT_EQ(breaches[0].file, "docs/guide.md");
  EXPECT_EQ(breaches[0].what, "docs/wire.md does not exist");
}

TEST(NamedFiles, WhatIsFencedIsNotAMention) {
  const InventedTree tree{{{"README.md", "```\n`daq/gone.hpp`\n```\n`daq/lost.hpp`\n"}}};
  const std::vector<Breach> breaches = check_named_files_exist(tree.read());
  ASSERT_EQ(breaches.size(), 1U);
  EXPECT_EQ(breaches[0].line, 4U);
}

TEST(NamedFiles, APageNamedInACommentMustExist) {
  const InventedTree tree{{{"daq/a.hpp", "// Layout: docs/campaign-file.md\n"}}};
  EXPECT_EQ(check_named_files_exist(tree.read()).size(), 1U);
}

TEST(HouseMap, AFolderOfCodeMustStandInIt) {
  const InventedTree tree{{
      {"DEVELOPERS.md", "daq/\n  stream/  rings\n"},
      {"daq/stream/a.cpp", ""},
      {"daq/stream/deeper/a.cpp", ""},
      {"daq/record/a.cpp", ""},
  }};
  const std::vector<Breach> breaches = check_house_map(tree.read());
  ASSERT_EQ(breaches.size(), 1U) << to_text(breaches);
  EXPECT_EQ(breaches[0].what, "daq/record/ is not in the house map");
}

TEST(PagesAndVerbs, MustBeInTheUserGuide) {
  const InventedTree tree{{
      {"docs/user-guide.md", "## Bench page\n`coldstroke eject` runs trials\n"},
      {"gui/window/bench_page.hpp", ""},
      {"gui/window/trial_page.hpp", ""},
      {"gui/commands/verbs.cpp", "app.add_subcommand(\"eject\", \"\");\napp.add_subcommand(\n  \"verify\", \"\");\n"},
  }};
  const std::vector<Breach> breaches = check_pages_and_verbs_documented(tree.read());
  ASSERT_EQ(breaches.size(), 2U) << to_text(breaches);
  EXPECT_EQ(breaches[0].file, "gui/commands/verbs.cpp");
  EXPECT_EQ(breaches[0].line, 2U);
  EXPECT_EQ(breaches[1].file, "gui/window/trial_page.hpp");
}

TEST(Definitions, EveryMetricAndMessageTypeHasItsPage) {
  const InventedTree tree{{
      {"analysis/trial/metric.hpp", "  \"stroke_time_seconds\", \"droop_pascals\",\n"},
      {"protocol/wire/message.hpp", "  hello = 0x01,\n  farewell = 0x02,\n"},
      {"docs/methods.md", "droop_pascals\n"},
      {"docs/wire.md", "hello\n"},
  }};
  const std::vector<Breach> breaches = check_definitions(tree.read());
  ASSERT_EQ(breaches.size(), 2U) << to_text(breaches);
  EXPECT_EQ(breaches[0].what, "stroke_time_seconds is not in docs/methods.md");
  EXPECT_EQ(breaches[1].what, "farewell is not in docs/wire.md");
}

}  // namespace
}  // namespace coldstroke::house
