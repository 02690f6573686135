// SPDX-License-Identifier: GPL-3.0-or-later
//
// coldstroke compare: two firmwares over the real trials each ran, in one campaign or in two.
#include <gmock/gmock.h>

#include "tests/daq/record/fresh_folder.hpp"
#include "tests/gui/commands/run_program.hpp"

namespace coldstroke::gui {
namespace {

using testing::HasSubstr;
using testing::Not;

class Compare : public testing::Test {
 protected:
  void eject(const char* campaign, const char* scenario, int trials) {
    const Ran ran = run_program(folder.path(), "eject --virtual --scenario " + std::string{scenario} + " --trials " +
                                                   std::to_string(trials) + " --campaign " + (folder / campaign).string());
    EXPECT_LE(ran.code, 1) << ran.complaints;
  }
  Ran compare(const std::string& arguments) { return run_program(folder.path(), "compare " + arguments); }
  daq::FreshFolder folder;
};

TEST_F(Compare, SaysOneSentenceItsTestsAndTheWorstTrialsWithTheirTraces) {
  eject("one.coldstroke", "steady", 4);
  eject("one.coldstroke", "long_window", 4);
  const std::string page = (folder / "compared.html").string();
  const Ran ran = compare((folder / "one.coldstroke").string() + " --margin 1 --to " + page);
  ASSERT_EQ(ran.code, 0) << ran.complaints;
  for (const char* part : {"Fisher exact", "Mann-Whitney", "Hodges-Lehmann", "Welch", "two one-sided tests",
                           "Worst of trials 1 to 4:", "Worst of trials 5 to 8:", "  trial 5: "})
    EXPECT_THAT(ran.out, HasSubstr(part));
  const std::string html = text_of(page);
  EXPECT_THAT(html, HasSubstr(ran.out.substr(0, 20)));
  for (const char* trial : {"trial 5", "trial 6", "trial 7"})
    EXPECT_THAT(html, HasSubstr("stacked traces of " + std::string{trial})) << "the board never decided: all are as bad";
  EXPECT_THAT(html, Not(HasSubstr("stacked traces of trial 8"))) << "three of a side";
}

TEST_F(Compare, TakesTheSidesFromTwoCampaignsAndRefusesWhatCannotBeCompared) {
  eject("first.coldstroke", "steady", 3);
  eject("second.coldstroke", "touchy", 3);
  const std::string first = (folder / "first.coldstroke").string(), second = (folder / "second.coldstroke").string();
  const Ran both = compare(first + " " + second);
  ASSERT_EQ(both.code, 0) << both.complaints;
  EXPECT_THAT(both.out, HasSubstr("Worst of first: trials 1 to 3:"));
  EXPECT_THAT(both.out, HasSubstr("Worst of second: trials 1 to 3:"));
  const Ran alone = compare(first);
  EXPECT_EQ(alone.code, 3);
  EXPECT_THAT(alone.complaints, HasSubstr("one configuration only"));
  EXPECT_EQ(compare(first + " " + second + " --metric no_such").code, 3);
}

}  // namespace
}  // namespace coldstroke::gui
