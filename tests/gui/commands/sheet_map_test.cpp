// SPDX-License-Identifier: GPL-3.0-or-later
//
// The operating map on the verdict sheet: of the board's own detector, over trials and kept recordings of one campaign.
#include "gui/window/detector/sheet_map.hpp"

#include <gmock/gmock.h>

#include <algorithm>
#include <cstdlib>

#include "analysis/detector/synthesise.hpp"
#include "daq/detector/campaign_library.hpp"
#include "daq/playback/board_claims.hpp"
#include "gui/report/sheet_source.hpp"
#include "tests/daq/record/fresh_folder.hpp"

namespace coldstroke::gui {
namespace {

using testing::HasSubstr;
using testing::Not;

class SheetMapTest : public testing::Test {
 protected:
  void SetUp() override {
    const std::string eject = std::string{COLDSTROKE_PROGRAM} + " eject --virtual --trials 2 --campaign " + file.string();
    ASSERT_EQ(std::system((eject + " >/dev/null 2>&1").c_str()), 0);
  }
  std::string identity() const {
    return daq::Campaign::open_read_only(file).value().identity(2, daq::Node::flight).value().value();
  }
  daq::FreshFolder folder;
  std::filesystem::path file = folder / "larch.coldstroke";
};

TEST_F(SheetMapTest, HoldsTheMapOverTrialsAndKeptRecordingsWithThePresentSettingMarked) {
  analysis::Scene scene;
  std::vector<analysis::Recording> silent;
  for (const auto event : analysis::kSilentEvents)
    silent.push_back(analysis::synthesise_silent(word(event), analysis::typical(event), scene).value());
  ASSERT_TRUE(daq::keep_recordings(file, silent));
  std::size_t told = 0;
  const auto input = read_mapped_sheet(file, {}, [&told](std::size_t, std::size_t) { return ++told > 0; });
  ASSERT_TRUE(input) << input.error().what;
  ASSERT_TRUE(input->map);
  ASSERT_TRUE(input->map->figure) << input->map->why_not;
  EXPECT_EQ(told, 6U) << "each of two trials is checked, weighed, and read for the library";
  const Figure& figure = *input->map->figure;
  const auto said = [&figure](const std::string& what) {
    return std::ranges::count_if(figure.parts, [&what](const FigurePart& part) {
      const auto* words = std::get_if<FigureWords>(&part);
      return words != nullptr && words->text == what;
    });
  };
  EXPECT_EQ(said("present"), 1);
  EXPECT_EQ(said("proposed"), 0) << "the sheet states, it does not propose";
  EXPECT_EQ(said("A") + said("S") + said("M") + said("L") + said("F"), 24 * 24 + 5) << "every cell and the legend has its letter";
  const std::string html = sheet_html(verdict_sheet(*input));
  for (const char* part : {"Operating map of the board&#39;s own detector", "2 recordings must fire, 8 must stay silent",
                           "Under the setting in force:", "In time 2"})
    EXPECT_THAT(html, HasSubstr(part));
  for (const char* outside : {"<script", "<link", "<img", "src=", "url("}) EXPECT_THAT(html, Not(HasSubstr(outside)));
}

TEST_F(SheetMapTest, TrialsAloneMakeAMapThatSaysWhatIsMissing) {
  const auto map = read_sheet_map(file, identity());
  ASSERT_TRUE(map && *map) << map.error().what;
  ASSERT_TRUE((*map)->figure) << (*map)->why_not;
  EXPECT_EQ((*map)->library, "2 recordings must fire, 0 must stay silent");
  EXPECT_THAT((*map)->present, HasSubstr("always in time"));
  EXPECT_THAT((*map)->findings, testing::Contains(HasSubstr("nothing in the library must stay silent")));
}

TEST_F(SheetMapTest, ABoardThatDidNotSayItsDetectorHasNoMapAndTheReasonStands) {
  for (const char* unknown : {"", "[]", "{\"detector\": {\"detector\": \"moving_mean\"}}", "{\"streams\": 3, \"detector\": 4}"}) {
    const auto map = read_sheet_map(file, unknown);
    ASSERT_TRUE(map && *map);
    EXPECT_FALSE((*map)->figure);
    EXPECT_THAT((*map)->why_not, HasSubstr("did not say which detector")) << unknown;
  }
}

TEST_F(SheetMapTest, AStopEndsTheReading) {
  EXPECT_FALSE(read_sheet_map(file, identity(), [](std::size_t, std::size_t) { return false; }));
}

TEST_F(SheetMapTest, WhatTheArchiveKeepsOfABoardIsWhatItClaimed) {
  const auto claims = daq::archived_claims(identity());
  ASSERT_TRUE(claims) << claims.error().what;
  EXPECT_FALSE(claims->identity.firmware_name.empty());
  const auto spec = daq::claimed_detector(*claims);
  ASSERT_TRUE(spec) << spec.error().what;
  EXPECT_EQ(spec->board.bits, 16);
  EXPECT_GT(spec->threshold_g, 0.0);
}

TEST(SheetMap, ACampaignWithoutAnyRecordingHasNoSection) {
  const daq::FreshFolder folder;
  const auto file = folder / "empty.coldstroke";
  ASSERT_TRUE(daq::Campaign::open_or_create(file, "empty"));
  const auto map = read_sheet_map(file, "");
  ASSERT_TRUE(map);
  EXPECT_FALSE(*map);
}

}  // namespace
}  // namespace coldstroke::gui
