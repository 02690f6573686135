// SPDX-License-Identifier: GPL-3.0-or-later
//
// coldstroke detector playback --json and compare-played: two firmware configurations on the virtual rig's board, each a process
// of its own behind a pseudo-terminal, in real time.
#include <gmock/gmock.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "tests/daq/record/fresh_folder.hpp"
#include "tests/gui/commands/run_program.hpp"

namespace coldstroke::gui {
namespace {

using testing::HasSubstr;

class Played : public testing::Test {
 protected:
  void SetUp() override {
    std::ofstream{folder / "library.toml"} << R"([[recording]]
from = "pulse"
name = "stroke"
shape = "half_sine"
peak_g = 14.0
duration_seconds = 0.045
deadline_seconds = 0.060
copies = 6

[[recording]]
from = "handling"
name = "knock"
event = "tube_knock"
)";
  }
  Ran run(const std::string& arguments) { return run_program(folder.path(), "detector " + arguments); }
  std::string at(const char* name) { return (folder / name).string(); }
  daq::FreshFolder folder;
};

TEST_F(Played, TwoFirmwaresAreComparedByWhatTheirBoardsAnswered) {
  for (const auto& [scenario, file] : {std::pair{"long_window", "first.json"}, std::pair{"steady", "changed.json"}}) {
    const Ran ran = run("playback " + at("library.toml") + " --virtual --scenario " + scenario + " --json");
    ASSERT_EQ(ran.code, 0) << ran.complaints << ran.out;
    std::ofstream{folder / file} << ran.out;
  }
  const std::string sides = at("library.toml") + " " + at("first.json") + " " + at("changed.json");
  const Ran ran = run("compare-played " + sides + " --csv " + at("c.csv") + " --svg " + at("c.svg") + " --png " + at("c.png"));
  EXPECT_EQ(ran.code, 0) << ran.complaints;
  EXPECT_THAT(ran.out, testing::StartsWith("Better (p = 0.031): 6 recordings mended, 0 broken from \"first, "));
  EXPECT_THAT(ran.out, HasSubstr("\" to \"changed, "));
  EXPECT_THAT(ran.out, HasSubstr("decided in time in 0 of 6 before and 6 of 6 after"));
  EXPECT_THAT(text_of(folder / "c.csv"), HasSubstr("\"knock\",must_stay_silent,silent,,,silent,,"));
  EXPECT_THAT(text_of(folder / "c.svg"), HasSubstr("Worst cases"));
  EXPECT_GT(std::filesystem::file_size(folder / "c.png"), 10'000U);
  const auto json = nlohmann::json::parse(run("compare-played " + sides + " --json").out);
  EXPECT_EQ(json["mended"], 6);
  EXPECT_TRUE(json["findings"].empty());
  // The other way round it is worse, and the exit code says so.
  const Ran back = run("compare-played " + at("library.toml") + " " + at("changed.json") + " " + at("first.json"));
  EXPECT_EQ(back.code, 1);
  EXPECT_THAT(back.out, testing::StartsWith("Worse"));
}

TEST_F(Played, WhatIsNoFileOfAnswersIsRefused) {
  std::ofstream{folder / "other.json"} << "{}";
  const Ran ran = run("compare-played " + at("library.toml") + " " + at("other.json") + " " + at("other.json"));
  EXPECT_EQ(ran.code, 3) << ran.out;
  EXPECT_THAT(ran.complaints, HasSubstr("does not hold the answers of a playback"));
  EXPECT_THAT(ran.complaints, HasSubstr("other.json"));
}

}  // namespace
}  // namespace coldstroke::gui
