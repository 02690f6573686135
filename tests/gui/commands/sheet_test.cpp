// SPDX-License-Identifier: GPL-3.0-or-later
//
// coldstroke sheet and weigh over campaign files on disk: what was corrected since, and what was altered.
#include <gmock/gmock.h>

#include "tests/daq/record/fresh_folder.hpp"
#include "tests/gui/commands/run_program.hpp"

namespace coldstroke::gui {
namespace {

using testing::HasSubstr;
using testing::Not;

class SheetVerb : public testing::Test {
 protected:
  void SetUp() override {
    const Ran made = run("eject --virtual --seed 8 --trials 2 --campaign " + file);
    ASSERT_EQ(made.code, 0) << made.complaints;
  }
  Ran run(const std::string& arguments) { return run_program(folder.path(), arguments); }
  daq::FreshFolder folder;
  std::string file = (folder / "trials.coldstroke").string(), sheet = (folder / "sheet.html").string();
};

TEST_F(SheetVerb, CountsAndStatesByTheCalibrationCorrectedSince) {
  EXPECT_THAT(run("weigh " + file).out, HasSubstr("2 of 2"));
  // The virtual rig's supply sensor, its scale doubled: the charge was twice what was thought.
  const Ran corrected =
      run("recalibrate " + file +
          " --channel supply --scale 0.39 --zero-counts 0 --gain-standard-uncertainty 0.002 --zero-standard-uncertainty 400"
          " --reference \"piston gauge, 3 March\" --author Mira --reason doubled");
  EXPECT_LE(corrected.code, 1) << corrected.complaints;
  const Ran weighed = run("weigh " + file);
  EXPECT_THAT(weighed.out, HasSubstr("charge outside its declared band"));
  EXPECT_THAT(weighed.out, HasSubstr("0 of 0"));
  const Ran made = run("sheet " + file + " --to " + sheet);
  EXPECT_EQ(made.code, 0) << made.complaints;
  const std::string html = text_of(sheet);
  EXPECT_THAT(html, HasSubstr("piston gauge, 3 March")) << "the calibration in force";
  EXPECT_THAT(html, HasSubstr("corrected by Mira: doubled (trial 1, 2)"));
}

TEST_F(SheetVerb, SaysThatTheFileWasAlteredAndHasNothingToSign) {
  const Ran whole = run("sheet " + file + " --to " + sheet);
  EXPECT_EQ(whole.code, 0) << whole.complaints;
  EXPECT_THAT(text_of(sheet), HasSubstr("2 trials"));
  EXPECT_THAT(text_of(sheet), HasSubstr("as they were recorded"));
  {
    std::fstream bytes{file, std::ios::in | std::ios::out | std::ios::binary};
    bytes.seekg(-2000, std::ios::end);
    const auto place = bytes.tellg();
    const int old = bytes.get();
    bytes.seekp(place);
    bytes.put(static_cast<char>(old ^ 1));
  }
  const Ran altered = run("sheet " + file + " --to " + sheet);
  EXPECT_EQ(altered.code, 1);
  EXPECT_THAT(altered.complaints, HasSubstr("was altered"));
  EXPECT_THAT(altered.out, HasSubstr("THE CAMPAIGN FILE WAS ALTERED"));
  const std::string html = text_of(sheet);
  EXPECT_THAT(html, HasSubstr("IS NOT AS IT WAS WRITTEN"));
  EXPECT_THAT(html, HasSubstr("Nothing to sign"));
  EXPECT_THAT(html, Not(HasSubstr("decides on the flight")));
}

}  // namespace
}  // namespace coldstroke::gui
