// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/commands/terminal_operator.hpp"

#include <gmock/gmock.h>

#include <sstream>

namespace coldstroke::gui {
namespace {

using daq::OperatorRequest;
using testing::HasSubstr;
using testing::Not;

daq::BenchView in_checks() {
  daq::BenchView view;
  view.step = daq::Step::checks;
  view.headline = daq::Headline::safe;
  view.checklist = {
      {"motor is out", "everyone is behind the line"}, {{"operator", "", "", false}, {"range officer", "", "", false}}, true};
  view.keep_out.configured_metres = 20.0;
  view.keep_out.scaled_metres = 12.3;
  view.keep_out.floor_metres = 30.0;
  view.keep_out.reach_metres = 25.5;
  view.keep_out.edition = "an edition";
  view.keep_out.warnings = {"keep-out 20.0 m is less than 30.0 m"};
  view.interlocks = {{"calibration", "supply valid until 2020-01-01", "in date", "calibrate", false, true, {}, false, true, {}},
                     {"checklist", "not signed", "signed", "go through the list", false, true, {}, false, false, {}}};
  view.next = {"Hold to charge to 8.00 bar", OperatorRequest::charge, false, true, "calibration: reads x, must be y"};
  return view;
}

class Terminal : public testing::Test {
 protected:
  std::ostringstream out;
  TerminalOperator person{out, 1};
};

TEST_F(Terminal, ShowsBothDistancesTheReachTheEditionAndTheWarning) {
  person.show(in_checks());
  for (const char* part : {"scaled distance 12.3 m", "published floor 30.0 m", "an edition", "projectile reach 25.5 m",
                           "line at 20.0 m", "WARNING: keep-out 20.0 m", "not a safety-rated function"})
    EXPECT_THAT(out.str(), HasSubstr(part));
}

TEST_F(Terminal, TwoNamedRolesSignTheWholeList) {
  daq::BenchView view = in_checks();
  person.show(view);
  EXPECT_THAT(out.str(), HasSubstr("2. everyone is behind the line"));
  EXPECT_THAT(out.str(), HasSubstr("Not signed yet: operator, range officer"));
  EXPECT_EQ(person.typed("sign range officer  Bo Ek ", view),
            (Typed{TypedSignature{"range officer", "Bo Ek", {"motor is out", "everyone is behind the line"}}}));
  view.checklist.roles[1].name = "Bo Ek";
  out.str("");
  person.show(view);
  EXPECT_THAT(out.str(), HasSubstr("Not signed yet: operator\n"));
  EXPECT_EQ(person.typed("sign cook Al", view), Typed{OperatorRequest::none});
  EXPECT_EQ(person.typed("unattended", view), Typed{OperatorRequest::none});
}

TEST_F(Terminal, OffersABypassOnlyWhereThereIsOneAndTakesATypedReason) {
  daq::BenchView view = in_checks();
  person.show(view);
  EXPECT_THAT(out.str(), HasSubstr("'bypass calibration: REASON'"));
  view.next.why_not = "checklist: reads not signed, must be signed";
  out.str("");
  person.show(view);
  EXPECT_THAT(out.str(), HasSubstr("waits for checklist"));
  EXPECT_THAT(out.str(), Not(HasSubstr("'bypass")));
  EXPECT_EQ(person.typed("bypass calibration: the certificate is at home", view),
            (Typed{TypedBypass{"calibration", "the certificate is at home"}}));
  EXPECT_EQ(person.typed("bypass calibration", view), Typed{OperatorRequest::none});
}

TEST_F(Terminal, GasMovesOnlyOnTheWordForThisStepAndStopAlwaysAborts) {
  daq::BenchView view = in_checks();
  EXPECT_EQ(person.typed("charge", view), Typed{OperatorRequest::none}) << "not allowed yet";
  person.show(view);
  EXPECT_THAT(out.str(), HasSubstr("'target BAR'"));
  EXPECT_THAT(out.str(), Not(HasSubstr("type 'charge'")));
  EXPECT_EQ(person.typed("target 8,0", view), Typed{OperatorRequest::none});
  EXPECT_EQ(person.typed("target", view), Typed{OperatorRequest::none});
  EXPECT_EQ(person.typed("target nan", view), Typed{OperatorRequest::none});
  EXPECT_EQ(person.typed(" target  8.0 ", view), Typed{TypedTarget{8.0e5}});
  view.typed_target_pascals = 8.0e5;
  view.next.enabled = true;
  person.show(view);
  EXPECT_THAT(out.str(), HasSubstr("type 'charge'"));
  EXPECT_EQ(person.typed("release", view), Typed{OperatorRequest::none});
  EXPECT_EQ(person.typed("", view), Typed{OperatorRequest::none});
  EXPECT_EQ(person.typed("charge", view), Typed{OperatorRequest::charge});
  view.next = {};
  EXPECT_EQ(person.typed("stop", view), Typed{OperatorRequest::abort});
}

TEST_F(Terminal, PromptsThePersonAtTheHandValvesStepByStep) {
  daq::BenchView view = in_checks();
  view.hand_steps = {{"Shut the charge valve", "0.00 bar, must not rise", true},
                     {"Open the vent valve fully", "0.00 bar", false}};
  view.lacking_protections = {"an abort does not vent this rig"};
  person.show(view);
  EXPECT_THAT(out.str(), HasSubstr("THIS RIG LACKS: an abort does not vent this rig"));
  EXPECT_THAT(out.str(), HasSubstr("BY HAND (proven) Shut the charge valve [0.00 bar, must not rise]"));
  EXPECT_THAT(out.str(), HasSubstr("BY HAND Open the vent valve fully"));
  out.str("");
  person.show(view);
  EXPECT_THAT(out.str(), Not(HasSubstr("BY HAND"))) << "said once";
  view.hand_steps[1].proven = true;
  person.show(view);
  EXPECT_THAT(out.str(), HasSubstr("BY HAND (proven) Open the vent valve fully"));
}

TEST_F(Terminal, BeepsAtEachSecondOfTheCount) {
  daq::BenchView view = in_checks();
  view.step = daq::Step::counting;
  for (double left = 3.0; left > 0.0; left -= 0.05) {
    view.countdown_seconds = left;
    person.show(view);
  }
  EXPECT_EQ(std::ranges::count(out.str(), '\a'), 3);
}

TEST_F(Terminal, SaysEveryLogLineOnceAlsoWhenTheLogMovesOn) {
  daq::BenchView view = in_checks();
  view.log = {{"10:00:00", "one"}, {"10:00:00", "two"}};
  person.show(view);
  view.log = {{"10:00:00", "two"}, {"10:00:01", "two"}, {"10:00:01", "three"}};
  person.show(view);
  const std::string text = out.str();
  for (const char* line : {"10:00:00 one\n", "10:00:00 two\n", "10:00:01 two\n", "10:00:01 three\n"}) {
    const std::size_t at = text.find(line);
    EXPECT_NE(at, std::string::npos) << text;
    EXPECT_EQ(text.find(line, at + 1), std::string::npos) << "said twice: " << line;
  }
}

}  // namespace
}  // namespace coldstroke::gui
