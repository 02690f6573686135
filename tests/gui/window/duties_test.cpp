// SPDX-License-Identifier: GPL-3.0-or-later
//
// What people do at the Bench page: sign, type the pressure, give a reason, count, keep clear, change the setup.
#include <gmock/gmock.h>

#include <QAbstractButton>
#include <QApplication>
#include <QComboBox>
#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QSignalSpy>
#include <QTemporaryDir>
#include <QTest>
#include <QtEndian>
#include <fstream>

#include "gui/window/bench/bench_page.hpp"
#include "gui/window/bench/checklist_panel.hpp"
#include "gui/window/bench/countdown.hpp"
#include "gui/window/bench/hand_steps_panel.hpp"
#include "gui/window/bench/headline_bar.hpp"
#include "gui/window/bench/interlock_list.hpp"
#include "gui/window/bench/keep_clear_page.hpp"
#include "gui/window/bench/keep_out_panel.hpp"
#include "gui/window/bench/step_ladder.hpp"
#include "gui/window/bench/tick_box.hpp"
#include "gui/window/setup/setup_page.hpp"
#include "gui/window/setup/setup_text.hpp"
#include "tests/gui/invented_bench.hpp"

namespace coldstroke::gui {
namespace {

using daq::OperatorRequest;
using daq::Step;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class Duties : public testing::Test {
 protected:
  Duties() {
    WindowDoors doors = invented_doors(&bench);
    doors.sound = [this](Tone tone) { tones.push_back(tone); };
    window = std::make_unique<MainWindow>(std::move(doors));
    window->resize(1280, 800);
    window->show();
    window->activateWindow();
    EXPECT_TRUE(QTest::qWaitForWindowActive(window.get()));
    window->openVirtualRig();
    QSignalSpy idle{window.get(), &MainWindow::idle};
    while (window->busy()) EXPECT_TRUE(idle.wait(20'000));
  }
  template <class Widget>
  Widget* child(const char* name) {
    auto* found = window->findChild<Widget*>(name);
    EXPECT_NE(found, nullptr) << name;
    return found;
  }
  std::string words(const char* label) { return child<QLabel>(label)->text().toStdString(); }
  void click(const char* name) { QTest::mouseClick(child<QAbstractButton>(name), Qt::LeftButton); }
  void type(const char* field, const char* text) {
    child<QLineEdit>(field)->clear();
    QTest::keyClicks(child<QLineEdit>(field), text);
    QTest::keyClick(child<QLineEdit>(field), Qt::Key_Return);
  }
  void tickAll(int role) {
    for (TickBox* tick : window->findChildren<TickBox*>())
      if (tick->objectName().startsWith(QStringLiteral("tick_%1_").arg(role)) && !tick->isChecked())
        QTest::mouseClick(tick, Qt::LeftButton);
  }
  ScriptedBench* bench = nullptr;
  std::vector<Tone> tones;
  std::unique_ptr<MainWindow> window;
};

TEST_F(Duties, ShowsTheChecklistInTheChecksAndTheTracesElsewhere) {
  EXPECT_TRUE(window->findChild<LiveTraces*>()->isVisible());
  bench->publish(invented_view(Step::checks));
  EXPECT_TRUE(window->findChild<ChecklistPanel*>()->isVisible());
  click("checklist_traces");
  EXPECT_TRUE(window->findChild<LiveTraces*>()->isVisible());
  bench->publish(invented_view(Step::checks));
  EXPECT_TRUE(window->findChild<LiveTraces*>()->isVisible()) << "a person's choice stays";
  click("show_checklist");
  EXPECT_TRUE(window->findChild<ChecklistPanel*>()->isVisible());
  bench->publish(invented_view(Step::charging));
  EXPECT_TRUE(window->findChild<LiveTraces*>()->isVisible());
}

TEST_F(Duties, SignsOnlyAFullListWithANameAndEachRoleByAnother) {
  daq::BenchView view = invented_view(Step::checks);
  bench->publish(view);
  type("signer_0", "A. Moreau");
  EXPECT_THAT(words("checklist_complaint"), HasSubstr("not every item"));
  tickAll(0);
  child<QLineEdit>("signer_0")->clear();
  click("sign_0");
  EXPECT_THAT(words("checklist_complaint"), HasSubstr("needs a name"));
  EXPECT_THAT(bench->signatures, IsEmpty());
  type("signer_0", "A. Moreau");
  ASSERT_EQ(bench->signatures.size(), 1U);
  EXPECT_EQ(bench->signatures[0].role, "operator");
  EXPECT_EQ(bench->signatures[0].name, "A. Moreau");
  EXPECT_EQ(bench->signatures[0].confirmed.size(), 9);
  EXPECT_EQ(words("checklist_complaint"), "");
  view.checklist.roles[0].name = "A. Moreau";
  view.checklist.roles[0].clock_time = "14:01:40";
  bench->publish(view);
  EXPECT_FALSE(child<QAbstractButton>("sign_0")->isEnabled());
  EXPECT_THAT(child<QLabel>("signed_by")->text().toStdString(), HasSubstr("A. Moreau, 14:01:40"));
  tickAll(1);
  type("signer_1", "a. moreau");
  EXPECT_THAT(words("checklist_complaint"), HasSubstr("same person"));
  EXPECT_EQ(bench->signatures.size(), 1U);
}

TEST_F(Duties, BeginsEachTrialWithAnEmptyListAndAnEmptyPressure) {
  daq::BenchView view = invented_view(Step::checks);
  bench->publish(view);
  tickAll(0);
  child<QLineEdit>("signer_0")->setText("A. Moreau");
  child<QLineEdit>("target_pressure")->setText("8.0");
  bench->publish(invented_view(Step::idle));
  view.trial_number = 15;
  bench->publish(view);
  EXPECT_EQ(child<QLineEdit>("signer_0")->text(), "");
  EXPECT_EQ(child<QLineEdit>("target_pressure")->text(), "");
  for (const TickBox* tick : window->findChildren<TickBox*>()) EXPECT_FALSE(tick->isChecked());
}

TEST_F(Duties, ChargesOnlyToAPressureThatAPersonTyped) {
  daq::BenchView view = invented_view(Step::checks);
  view.next = {"Hold to charge", OperatorRequest::charge, false, true, "target pressure: reads not typed, must be typed"};
  bench->publish(view);
  EXPECT_FALSE(child<QAbstractButton>("next_action")->isEnabled());
  EXPECT_EQ(child<QLineEdit>("target_pressure")->text(), "") << "no pressure is suggested";
  EXPECT_THAT(words("why_not"), HasSubstr("target pressure: reads not typed"));
  for (const auto& [typed, answer] : {std::pair{"", "above zero"},
                                      {"eight", "above zero"},
                                      {"-1", "above zero"},
                                      {"7.0", "outside the charge window"},
                                      {"9.5", "maximum"},
                                      {"13", "reservoir may bear"}}) {
    type("target_pressure", typed);
    EXPECT_THAT(words("checklist_complaint"), HasSubstr(answer)) << typed;
  }
  EXPECT_THAT(bench->targets, IsEmpty());
  type("target_pressure", "7,9");
  EXPECT_THAT(bench->targets, ElementsAre(testing::DoubleNear(7.9e5, 1.0)));
  view.typed_target_pascals = 7.9e5;
  view.next = {"Hold to charge to 7.90 bar", OperatorRequest::charge, true, true, ""};
  bench->publish(view);
  EXPECT_TRUE(child<QAbstractButton>("next_action")->isEnabled());
  EXPECT_EQ(child<QAbstractButton>("next_action")->text(), "Hold to charge to 7.90 bar");
}

TEST_F(Duties, OffersABypassOnlyWhereOneExistsAndOnlyWithAReason) {
  daq::BenchView view = invented_view();
  for (auto& line : view.interlocks) line.bypassable = false;
  bench->publish(view);
  EXPECT_FALSE(child<QWidget>("bypass_panel")->isVisible());
  view.interlocks[3].bypassable = true;  // does not hold
  view.interlocks[5].bypassable = true;  // holds: nothing to bypass
  view.interlocks[3].name = "channels at rest";
  bench->publish(view);
  ASSERT_TRUE(child<QWidget>("bypass_panel")->isVisible());
  EXPECT_EQ(child<QComboBox>("bypass_which")->count(), 1);
  type("bypass_reason", "ok");
  EXPECT_THAT(bench->bypasses, IsEmpty());
  EXPECT_THAT(words("bypass_complaint"), HasSubstr("reason in words"));
  type("bypass_reason", "the cell was checked by hand");
  ASSERT_EQ(bench->bypasses.size(), 1U);
  EXPECT_EQ(bench->bypasses[0].first, "channels at rest");
  view.interlocks[3].bypass_reason = "the cell was checked by hand";
  bench->publish(view);
  EXPECT_FALSE(child<QWidget>("bypass_panel")->isVisible());
  EXPECT_THAT(InterlockList::why(view.interlocks[3]).toStdString(), HasSubstr("BYPASSED for this trial: the cell was checked"));
}

TEST_F(Duties, ForgetsAReasonThatWasWrittenForAnotherInterlock) {
  daq::BenchView view = invented_view();
  view.interlocks[6].bypassable = true;
  bench->publish(view);
  child<QLineEdit>("bypass_reason")->setText("the lid is off for repair");
  view.interlocks[3].holds = true;
  bench->publish(view);
  EXPECT_EQ(child<QComboBox>("bypass_which")->currentText(), "Battery");
  EXPECT_EQ(child<QLineEdit>("bypass_reason")->text(), "");
}

TEST_F(Duties, CountsAloudOnceASecondAndSoundsTheRelease) {
  daq::BenchView view = invented_view(Step::counting);
  for (const double left : {3.0, 2.97, 2.5, 2.01, 2.0, 1.6, 1.0, 0.4, 0.0}) {
    view.countdown_seconds = left;
    bench->publish(view);
  }
  EXPECT_THAT(tones, ElementsAre(Tone::second, Tone::second, Tone::second)) << "3, 2, 1";
  EXPECT_TRUE(child<QWidget>("countdown")->isVisible());
  bench->publish(invented_view(Step::releasing));
  EXPECT_EQ(tones.back(), Tone::release);
  EXPECT_FALSE(child<QWidget>("countdown")->isVisible());
  EXPECT_EQ(spoken_second(2.0001), 3);
  EXPECT_EQ(spoken_second(-1.0), 0);
}

TEST_F(Duties, KeepClearTakesThePageFromWhereverOneIsAndGivesItBack) {
  for (const auto before :
       {MainWindow::kBench, MainWindow::kTrial, MainWindow::kCampaign, MainWindow::kSetup, MainWindow::kChoosing}) {
    bench->publish(invented_view(Step::counting));
    window->goTo(before);
    bench->publish(invented_view(Step::keep_clear));
    EXPECT_EQ(window->page(), MainWindow::kKeepClear);
    EXPECT_EQ(tones.back(), Tone::alarm);
    for (const Qt::Key one : {Qt::Key_B, Qt::Key_T, Qt::Key_C, Qt::Key_S}) {
      QTest::keyClick(window.get(), one);
      EXPECT_EQ(window->page(), MainWindow::kKeepClear);
    }
    EXPECT_THAT(words("keep_clear_why"), HasSubstr("no motion seen"));
    EXPECT_EQ(words("keep_clear_wait"), "Wait 0:42 more");
    EXPECT_FALSE(child<QAbstractButton>("keep_clear_next")->isEnabled());
    bench->publish(invented_view(Step::idle));
    EXPECT_EQ(window->page(), before);
  }
}

TEST_F(Duties, AcknowledgesOnTheKeepClearPageOnceEverythingHolds) {
  daq::BenchView view = invented_view(Step::locked_out);
  EXPECT_TRUE(view.headline == daq::Headline::keep_clear);
  view.next.enabled = true;
  bench->publish(view);
  QTest::mousePress(child<QAbstractButton>("keep_clear_next"), Qt::LeftButton);
  EXPECT_THAT(bench->requests, Contains(OperatorRequest::acknowledge));
  EXPECT_THAT(words("keep_clear_order"), HasSubstr("LOCKED OUT"));
}

TEST_F(Duties, AbortIsOneKeyFromEveryFieldAndPage) {
  struct Place {
    const char* name;
    daq::BenchView view;
  };
  daq::BenchView bypass = invented_view();
  for (const Place& place :
       {Place{"signer_0", invented_view(Step::checks)}, Place{"target_pressure", invented_view(Step::checks)},
        Place{"tick_1_3", invented_view(Step::checks)}, Place{"bypass_reason", bypass}, Place{"bypass_which", bypass},
        Place{"silence", invented_view(Step::keep_clear)}}) {
    bench->publish(place.view);
    auto* field = child<QWidget>(place.name);
    field->setFocus();
    ASSERT_TRUE(field->hasFocus()) << place.name;
    bench->requests.clear();
    QTest::keyClick(field, Qt::Key_F12);
    EXPECT_THAT(bench->requests, ElementsAre(OperatorRequest::abort)) << place.name;
    bench->requests.clear();
    QTest::mousePress(window->headline()->abortButton(), Qt::LeftButton);
    EXPECT_THAT(bench->requests, ElementsAre(OperatorRequest::abort)) << place.name;
    QTest::mouseRelease(window->headline()->abortButton(), Qt::LeftButton);
  }
}

// Every widget that can be used is reached by Tab and by Shift+Tab, and the way round comes back to where it began.
TEST_F(Duties, TabGoesRoundWithoutATrap) {
  daq::BenchView bypass = invented_view();
  const std::pair<MainWindow::Page, daq::BenchView> places[] = {{MainWindow::kBench, invented_view(Step::idle)},
                                                                {MainWindow::kBench, invented_view(Step::checks)},
                                                                {MainWindow::kBench, bypass},
                                                                {MainWindow::kKeepClear, invented_view(Step::keep_clear)},
                                                                {MainWindow::kTrial, invented_view(Step::idle)},
                                                                {MainWindow::kCampaign, invented_view(Step::idle)},
                                                                {MainWindow::kSetup, invented_view(Step::idle)},
                                                                {MainWindow::kClosing, invented_view(Step::settling)}};
  for (const auto& [page, view] : places) {
    bench->publish(view);
    if (page == MainWindow::kClosing)
      window->close();
    else
      window->goTo(page);
    QSet<const QWidget*> usable;
    for (const QWidget* one : window->findChildren<QWidget*>())
      if (one->isVisible() && one->isEnabled() && (one->focusPolicy() & Qt::TabFocus) != 0 && one->focusProxy() == nullptr)
        usable += one;
    EXPECT_GE(usable.size(), 3);
    for (const Qt::Key key : {Qt::Key_Tab, Qt::Key_Backtab}) {
      window->headline()->abortButton()->setFocus();
      QSet<const QWidget*> reached;
      bool round = false;
      for (qsizetype k = 0; k < 2 * usable.size() + 10 && !round; ++k) {
        QTest::keyClick(QApplication::focusWidget(), key);
        ASSERT_NE(QApplication::focusWidget(), nullptr);
        reached += QApplication::focusWidget();
        round = QApplication::focusWidget() == window->headline()->abortButton();
      }
      EXPECT_TRUE(round) << "page " << page << ", trapped at " << QApplication::focusWidget()->objectName().toStdString();
      for (const QWidget* one : usable)
        EXPECT_TRUE(reached.contains(one)) << "page " << page << ": " << one->metaObject()->className() << " "
                                           << one->objectName().toStdString();
    }
  }
}

TEST_F(Duties, SetupPageSaysWhatIsInForce) {
  bench->publish(invented_view(Step::idle));
  window->goTo(MainWindow::kSetup);
  QString all;
  for (const QLabel* label : window->findChild<SetupPage*>()->findChildren<QLabel*>()) all += label->text() + "\n";
  for (const char* part : {"reservoir", "12.00 bar  ◄ weakest", "86.2 kJ", "ASME PCC-2-2008", "45.0 m", "38.8 m"})
    EXPECT_TRUE(all.contains(QString::fromUtf8(part))) << part;
  EXPECT_EQ(child<QPlainTextEdit>("setup_text")->toPlainText().toStdString(), std::string{daq::virtual_setup_text()});
  EXPECT_THAT(words("setup_ports"), HasSubstr("rig-reference 1.0"));
}

TEST_F(Duties, ASetupThatDoesNotLoadIsShownAtItsLineAndTheOldOneStays) {
  bench->publish(invented_view(Step::idle));
  const QTemporaryDir folder;
  const std::string file = folder.filePath("rig.toml").toStdString();
  std::ofstream{file} << daq::virtual_setup_text();
  window->openSetup(file);
  EXPECT_EQ(window->page(), MainWindow::kSetup);
  EXPECT_THAT(words("setup_complaint"), HasSubstr("line 12"));
  EXPECT_THAT(window->findChild<SetupText*>()->linesAtFault(), ElementsAre(12));
  EXPECT_EQ(window->headline()->stateWords(), "SAFE") << "the bench goes on";
  click("setup_back");
  EXPECT_EQ(words("setup_complaint"), "");
  EXPECT_THAT(words("setup_title"), HasSubstr("In force"));
}

TEST_F(Duties, NoOtherSetupWhileTheRigIsNotProvenVented) {
  bench->publish(invented_view(Step::settling));
  window->goTo(MainWindow::kSetup);
  EXPECT_FALSE(child<QAbstractButton>("setup_open")->isEnabled());
  EXPECT_FALSE(child<QAbstractButton>("setup_leave")->isEnabled());
  EXPECT_THAT(words("setup_blocked"), HasSubstr("not proven vented"));
  const auto* before = bench;
  window->openSetup("/demo/rig.toml");
  window->leaveRig();
  EXPECT_EQ(bench, before);
  EXPECT_EQ(window->headline()->stateWords(), "PRESSURISED");
  bench->publish(invented_view(Step::idle));
  click("setup_leave");
  EXPECT_EQ(window->page(), MainWindow::kStart);
  EXPECT_EQ(window->headline()->stateWords(), "NO BENCH");
}

TEST(ComplainedLines, AreFoundInOneComplaintAndInMany) {
  EXPECT_THAT(complained_lines({"what", "rig.toml, line 7, key charge.low_bar", "remedy"}), ElementsAre(7));
  EXPECT_THAT(complained_lines({"2 problems in the setup:\n  a.toml, line 30, key x: is y.\n  a.toml, line 4: z.", "a.toml", ""}),
              ElementsAre(4, 30));
  EXPECT_THAT(complained_lines({"cannot be opened", "/nowhere.toml", ""}), IsEmpty());
  const auto broken = daq::parse_setup("[campaign]\nname = 3\n", "b.toml");
  ASSERT_FALSE(broken);
  EXPECT_THAT(complained_lines(broken.error()), Contains(2));
}

TEST(HandSteps, PointAtTheFirstStepThatIsNotProven) {
  daq::BenchView view;
  view.step = Step::charging;
  view.hand_steps = {{"Shut the vent valve", "1.20 bar", true}, {"Open the charge valve slowly", "1.20 bar", false}};
  view.lacking_protections = {"an abort shuts the fast valves only"};
  EXPECT_EQ(HandStepsPanel::words(view),
            "By hand, in this order:\n✓ 1. Shut the vent valve: 1.20 bar\n► 2. Open the charge valve slowly: 1.20 bar");
  view.step = Step::checks;
  EXPECT_TRUE(HandStepsPanel::words(view).contains("an abort shuts the fast valves only"));
}

TEST(KeepOutWords, NameBothDistancesTheEditionTheReachAndEveryWarning) {
  daq::Setup setup = invented_setup();
  setup.keep_out.distance_metres = 20.0;
  const QString words = keep_out_lines(daq::keep_out(setup)).join('\n');
  for (const char* part : {"floor 30.0 m", "scaled distance 5.5 m", "ASME PCC-2-2008", "reach 38.8 m", "stored 903 J",
                           "✗ keep-out 20.0 m is less than 30.0 m", "less than 43.8 m"})
    EXPECT_TRUE(words.contains(QString::fromUtf8(part))) << part << " in\n" << words.toStdString();
}

TEST(StepLadder, SaysEveryStepAndTheOnesBesideTheLadder) {
  StepLadder ladder;
  for (std::size_t k = 0; k < daq::kSteps; ++k) {
    const auto step = static_cast<Step>(k);
    ladder.show(invented_view(step));
    EXPECT_EQ(ladder.accessibleName().count("now"), 1) << daq::word(step);
    EXPECT_EQ(ladder.sizeHint().height(), 9 * 25) << "nothing moves";
    EXPECT_EQ(ladder.accessibleName().contains(daq::word(step)), StepLadder::beside(step)) << daq::word(step);
  }
}

TEST(ToneWav, IsAPlayableFile) {
  for (const Tone tone : {Tone::second, Tone::release, Tone::alarm}) {
    const QByteArray wav = tone_wav(tone);
    EXPECT_TRUE(wav.startsWith("RIFF"));
    EXPECT_EQ(wav.mid(8, 8), "WAVEfmt ");
    EXPECT_GT(wav.size(), 44 + 2 * 4410);
    EXPECT_EQ(static_cast<int>(qFromLittleEndian<quint32>(wav.constData() + 40)), wav.size() - 44);
  }
}

}  // namespace
}  // namespace coldstroke::gui
