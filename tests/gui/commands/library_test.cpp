// SPDX-License-Identifier: GPL-3.0-or-later
//
// coldstroke detector library, keep and record, and a campaign's library wherever a verb takes one.
#include <gmock/gmock.h>

#include <fstream>

#include "tests/daq/record/fresh_folder.hpp"
#include "tests/gui/commands/run_program.hpp"

namespace coldstroke::gui {
namespace {

using testing::HasSubstr;
using testing::Not;

class Library : public testing::Test {
 protected:
  void SetUp() override {
    std::ofstream{folder / "carry.csv"} << [] {
      std::string text = "time_s,acceleration_g\n";
      for (int k = 0; k < 600; ++k) text += std::to_string(k * 0.001) + (k % 50 < 25 ? ",1.2\n" : ",0.8\n");
      return text;
    }();
    std::ofstream{folder / "library.toml"} << R"([[recording]]
from = "pulse"
name = "stroke"
shape = "half_sine"
peak_g = 14.0
duration_seconds = 0.045
deadline_seconds = 0.060
copies = 3

[[recording]]
from = "handling"
name = "knock"
event = "tube_knock"

[[recording]]
from = "csv"
name = "carried"
file = "carry.csv"
label = "must_stay_silent"
event = "carrying"
)";
    std::ofstream{folder / "detectors.toml"} << R"([[detector]]
name = "mean of 20 ms"
kind = "moving_mean"
window_seconds = 0.020
threshold_g = 4.0
building_g = 1.0
[detector.board]
sample_rate_hz = 2000.0
bits = 16
range_g = 64.0
)";
  }
  Ran run(const std::string& arguments) { return run_program(folder.path(), "detector " + arguments); }
  daq::FreshFolder folder;
  std::string campaign = (folder / "kept.coldstroke").string(), table = (folder / "library.toml").string(),
              detectors = (folder / "detectors.toml").string();
};

TEST_F(Library, AMapsFileOfTheWrongEndingIsRefusedBeforeTheWork) {
  const Ran ran = run("map " + detectors + " " + table + " --svg " + (folder / "map.pdf").string());
  EXPECT_EQ(ran.code, 3);
  EXPECT_THAT(ran.complaints, HasSubstr("does not end in .svg"));
  EXPECT_EQ(ran.out, "") << "no sentence of a map, because none was computed";
  EXPECT_FALSE(std::filesystem::exists(folder / "map.pdf"));
}

/// Eighty samples beyond the range in every pulse would otherwise be eighty like lines without a name.
TEST_F(Library, AFindingNamesItsRecordingAndALongListIsCutShort) {
  std::string text = text_of(detectors);
  text.replace(text.find("range_g = 64.0"), 14, "range_g = 10.0");
  std::ofstream{folder / "narrow.toml"} << text;
  std::string many = text_of(table);
  many.replace(many.find("copies = 3"), 10, "copies = 9");
  std::ofstream{folder / "many.toml"} << many;
  const Ran ran = run("replay " + (folder / "narrow.toml").string() + " " + (folder / "many.toml").string());
  EXPECT_THAT(ran.out, HasSubstr("finding clipped_by_board, \"stroke 1\": "));
  EXPECT_THAT(ran.out, HasSubstr("finding clipped_by_board, \"stroke 5\": "));
  EXPECT_THAT(ran.out, Not(HasSubstr("finding clipped_by_board, \"stroke 6\": ")));
  EXPECT_THAT(ran.out, HasSubstr("finding clipped_by_board: and 4 more"));
}

TEST_F(Library, WhatIsKeptGivesTheSameReplayAsTheTableItCameFrom) {
  const Ran kept = run("keep " + campaign + " " + table);
  ASSERT_EQ(kept.code, 0) << kept.complaints;
  EXPECT_THAT(kept.out, HasSubstr("kept 5 recordings"));
  EXPECT_THAT(kept.out, HasSubstr("mixed_sample_rates"));
  const Ran from_table = run("replay " + detectors + " " + table + " --json --tolerances"),
            from_campaign = run("replay " + detectors + " " + campaign + " --json --tolerances");
  EXPECT_EQ(from_table.code, from_campaign.code);
  EXPECT_THAT(from_table.out, HasSubstr("\"decision_sample\""));
  EXPECT_THAT(from_table.out, HasSubstr("mean of 20 ms: "));
  EXPECT_EQ(from_table.out, from_campaign.out);
  const Ran listed = run("library " + campaign);
  EXPECT_THAT(listed.out, HasSubstr("5 recordings: 3 must fire, 2 must stay silent"));
  EXPECT_THAT(listed.out, HasSubstr("imported: carry.csv"));
  EXPECT_THAT(listed.out, HasSubstr("peak_g 14"));
}

TEST_F(Library, IsKeptOnceAndAnEmptyCampaignIsNone) {
  ASSERT_EQ(run("keep " + campaign + " " + table).code, 0);
  const Ran again = run("keep " + campaign + " " + table);
  EXPECT_EQ(again.code, 3);
  EXPECT_THAT(again.complaints, HasSubstr("two recordings have this name"));
  EXPECT_THAT(run("library " + campaign).out, HasSubstr("5 recordings:"));
}

TEST_F(Library, ARecordingWithoutGasIsKeptAndServesAtOnce) {
  const Ran recorded = run("record " + campaign + " --virtual --lockstep --name \"set down\" --event setting_down --seconds 1");
  ASSERT_EQ(recorded.code, 0) << recorded.complaints;
  EXPECT_THAT(recorded.out, HasSubstr("kept 1 recording in"));
  const Ran listed = run("library " + campaign);
  EXPECT_THAT(listed.out, HasSubstr("must_stay_silent"));
  EXPECT_THAT(listed.out, HasSubstr("recorded without gas from"));
  EXPECT_EQ(run("replay " + detectors + " " + campaign).code, 0) << "it stays silent";
  EXPECT_EQ(run("record " + campaign + " --virtual --name x --event dancing").code, 3);
  EXPECT_EQ(run("record " + campaign + " --virtual --name x --event ejection").code, 3) << "it would have to fire";
  // Refused before anyone carries a vehicle about for nothing.
  const Ran twice = run("record " + campaign + " --virtual --lockstep --name \"set down\" --event setting_down");
  EXPECT_EQ(twice.code, 3);
  EXPECT_THAT(twice.complaints, HasSubstr("of this name is in the campaign already"));
  EXPECT_THAT(twice.complaints, Not(HasSubstr("s recorded")));
  EXPECT_EQ(run("record /no/such/folder/x.coldstroke --virtual --lockstep --name x").code, 3);
  EXPECT_EQ(run("record " + campaign + " --name x").code, 3) << "no board is named";
  const Ran lost =
      run("record " + campaign + " --virtual --lockstep --name lossy --fault lost_frames,node=flight,probability=0.3");
  EXPECT_EQ(lost.code, 4);
  EXPECT_THAT(run("library " + campaign).out, HasSubstr("1 recording:"));
}

}  // namespace
}  // namespace coldstroke::gui
