// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/main_window.hpp"

#include <gmock/gmock.h>

#include <QApplication>
#include <QComboBox>
#include <QFileDialog>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QSignalSpy>
#include <QTableView>
#include <QTest>

#include "gui/window/bench/headline_bar.hpp"
#include "gui/window/close_panel.hpp"
#include "gui/window/look.hpp"
#include "gui/window/trial/trial_page.hpp"
#include "tests/gui/invented_bench.hpp"
#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

using daq::OperatorRequest;
using testing::Contains;
using testing::ElementsAre;
using testing::IsEmpty;

class MainWindowTest : public testing::Test {
 protected:
  MainWindowTest() : window{invented_doors(&bench)} {
    window.resize(1280, 800);
    window.show();
    window.activateWindow();
    EXPECT_TRUE(QTest::qWaitForWindowActive(&window));
  }
  template <class Widget>
  Widget* child(const char* name) {
    auto* found = window.findChild<Widget*>(name);
    EXPECT_NE(found, nullptr) << name;
    return found;
  }
  void click(const char* name) { QTest::mouseClick(child<QAbstractButton>(name), Qt::LeftButton); }
  void key(Qt::Key key) { QTest::keyClick(QApplication::focusWidget() != nullptr ? QApplication::focusWidget() : &window, key); }
  void start() {
    click("start_virtual");
    settle();
  }
  // Until the worker has delivered what was asked for.
  void settle() {
    QSignalSpy idle{&window, &MainWindow::idle};
    while (window.busy()) ASSERT_TRUE(idle.wait(20'000));
  }
  ScriptedBench* bench = nullptr;
  MainWindow window;
};

TEST_F(MainWindowTest, OffersThreeWaysOnWhenNothingIsConnected) {
  EXPECT_EQ(window.page(), MainWindow::kStart);
  EXPECT_EQ(window.headline()->stateWords(), "NO BENCH");
  for (const char* way : {"start_virtual", "start_setup", "start_campaign"}) EXPECT_TRUE(child<QPushButton>(way)->isVisible());
}

TEST_F(MainWindowTest, UsesTheVirtualRigInOneClickAndSaysSo) {
  start();
  EXPECT_EQ(window.page(), MainWindow::kBench);
  EXPECT_TRUE(child<QWidget>("virtual_banner")->isVisible());
  EXPECT_EQ(window.headline()->pressureWords(), "7.02 bar");
  daq::BenchView real = invented_view();
  real.virtual_rig = false;
  bench->publish(real);
  EXPECT_FALSE(child<QWidget>("virtual_banner")->isVisible());
}

TEST_F(MainWindowTest, SaysWhatIsWrongWithASetup) {
  window.openSetup("/demo/rig.toml");
  EXPECT_THAT(child<QLabel>("start_complaint")->text().toStdString(), testing::HasSubstr("/demo/rig.toml, line 12"));
}

TEST_F(MainWindowTest, ChangesPageByKeyAndByRail) {
  start();
  key(Qt::Key_T);
  EXPECT_EQ(window.page(), MainWindow::kTrial);
  key(Qt::Key_C);
  EXPECT_EQ(window.page(), MainWindow::kCampaign);
  key(Qt::Key_B);
  EXPECT_EQ(window.page(), MainWindow::kBench);
  click("rail_campaign");
  EXPECT_EQ(window.page(), MainWindow::kCampaign);
}

TEST_F(MainWindowTest, LeavesThePageKeysToATextBeingTyped) {
  start();
  auto* note = child<QLineEdit>("bench_note");
  note->setFocus();
  QTest::keyClicks(note, "btc");
  EXPECT_EQ(note->text(), "btc");
  EXPECT_EQ(window.page(), MainWindow::kBench);
}

TEST_F(MainWindowTest, AbortsAtThePressFromEveryPage) {
  start();
  for (const auto page :
       {MainWindow::kBench, MainWindow::kTrial, MainWindow::kCampaign, MainWindow::kClosing, MainWindow::kChoosing}) {
    window.goTo(page);
    auto* abort = window.headline()->abortButton();
    ASSERT_TRUE(abort->isVisible() && abort->isEnabled());
    bench->requests.clear();
    QTest::mousePress(abort, Qt::LeftButton);
    EXPECT_THAT(bench->requests, ElementsAre(OperatorRequest::abort)) << "before the finger is lifted, page " << page;
    QTest::mouseRelease(abort, Qt::LeftButton);
    EXPECT_EQ(bench->requests.size(), 1U);
    for (const Qt::Key one : {Qt::Key_F12, Qt::Key_Pause}) {
      bench->requests.clear();
      key(one);
      EXPECT_THAT(bench->requests, ElementsAre(OperatorRequest::abort)) << "page " << page;
    }
  }
}

TEST_F(MainWindowTest, AbortsByKeyWhileTypingWhileAListIsOpenAndWithTheActionHeld) {
  start();
  child<QLineEdit>("bench_note")->setFocus();
  key(Qt::Key_F12);
  EXPECT_EQ(bench->requests.size(), 1U);
  key(Qt::Key_C);  // typed into the note
  window.goTo(MainWindow::kCampaign);
  auto* metric = child<QComboBox>("campaign_metric");
  metric->showPopup();
  ASSERT_NE(QApplication::activePopupWidget(), nullptr);
  QTest::keyClick(QApplication::activePopupWidget(), Qt::Key_F12);
  EXPECT_EQ(bench->requests.size(), 2U);
  metric->hidePopup();
  window.goTo(MainWindow::kBench);
  bench->publish(invented_view(daq::Headline::pressurised));
  auto* next = child<HoldButton>("next_action");
  next->setHoldMilliseconds(600'000);
  next->setFocus();
  QTest::keyPress(next, Qt::Key_Space);
  ASSERT_TRUE(next->holding());
  QTest::keyClick(next, Qt::Key_Pause);
  EXPECT_THAT(bench->requests, ElementsAre(OperatorRequest::abort, OperatorRequest::abort, OperatorRequest::abort));
  QTest::keyRelease(next, Qt::Key_Space);
}

TEST_F(MainWindowTest, KeepsAbortOverTheFileChooser) {
  start();
  window.goTo(MainWindow::kCampaign);
  click("campaign_open");
  EXPECT_EQ(window.page(), MainWindow::kChoosing);
  auto* chooser = child<QFileDialog>("file_chooser");
  EXPECT_TRUE(chooser->isVisible());
  EXPECT_FALSE(chooser->isWindow()) << "it fills the page, it does not cover the window";
  EXPECT_EQ(QApplication::activeModalWidget(), nullptr);
  QTest::mousePress(window.headline()->abortButton(), Qt::LeftButton);
  EXPECT_THAT(bench->requests, ElementsAre(OperatorRequest::abort));
  QTest::mouseRelease(window.headline()->abortButton(), Qt::LeftButton);
  chooser->reject();
  EXPECT_EQ(window.page(), MainWindow::kCampaign);
}

TEST_F(MainWindowTest, AsksAndVentsBeforeItClosesDuringATrial) {
  start();
  EXPECT_FALSE(window.close());
  EXPECT_EQ(window.page(), MainWindow::kClosing);
  EXPECT_TRUE(window.headline()->abortButton()->isVisible());
  EXPECT_THAT(bench->requests, IsEmpty()) << "asking does nothing yet";
  click("close_stay");
  EXPECT_EQ(window.page(), MainWindow::kBench);
  window.close();
  click("close_vent");
  EXPECT_THAT(bench->requests, ElementsAre(OperatorRequest::abort));
  bench->publish(invented_view(daq::Headline::venting));
  EXPECT_TRUE(window.isVisible());
  EXPECT_THAT(child<QLabel>("close_progress")->text().toStdString(), testing::HasSubstr("3.10 bar"));
  bench->publish(invented_view(daq::Headline::safe));
  EXPECT_FALSE(window.isVisible());
}

TEST_F(MainWindowTest, ClosesAtOnceWhenTheRigIsProvenVented) {
  start();
  bench->publish(invented_view(daq::Headline::safe));
  EXPECT_TRUE(window.close());
}

TEST(MayClose, OnlyWithProofOrWithoutARig) {
  EXPECT_TRUE(may_close(invented_view(daq::Headline::safe)));
  for (const auto headline : {daq::Headline::unknown, daq::Headline::pressurised, daq::Headline::release_enabled,
                              daq::Headline::recording, daq::Headline::venting, daq::Headline::keep_clear}) {
    daq::BenchView view = invented_view(headline);
    EXPECT_FALSE(may_close(view));
    view.step = daq::Step::idle;  // a rig found pressurised, or lost with pressure on
    EXPECT_FALSE(may_close(view));
  }
  EXPECT_TRUE(may_close(daq::BenchView{})) << "no rig was ever seen";
}

TEST_F(MainWindowTest, OpensTrialsOfACampaignWithoutABench) {
  window.openCampaign("/demo/larch.coldstroke");
  settle();
  EXPECT_EQ(window.page(), MainWindow::kCampaign);
  window.openTrial(17);
  settle();
  EXPECT_EQ(window.page(), MainWindow::kTrial);
  EXPECT_EQ(child<QLabel>("verdict")->text(), "Trial 17: ✗ fail");
  EXPECT_EQ(child<QLabel>("trial_place")->text(), "trial 17, 17 of 24");
  QTest::keyClick(child<TrialPage>("trial_page"), Qt::Key_PageDown);
  settle();
  EXPECT_EQ(child<QLabel>("verdict")->text(), "Trial 18: ✓ pass");
  key(Qt::Key_B);
  EXPECT_EQ(window.page(), MainWindow::kStart);
}

TEST_F(MainWindowTest, ShowsTheLastOfSeveralTrialsAskedForQuickly) {
  window.openCampaign("/demo/larch.coldstroke");
  for (const qlonglong number : {3, 4, 5, 6}) window.openTrial(number);
  settle();
  EXPECT_EQ(child<QLabel>("verdict")->text(), "Trial 6: ✓ pass");
}

TEST_F(MainWindowTest, SaysSoWhenATrialCannotBeRead) {
  window.openCampaign("/demo/larch.coldstroke");
  window.openTrial(99);
  settle();
  EXPECT_THAT(child<QLabel>("verdict_sentence")->text().toStdString(), testing::HasSubstr("There is no trial 99."));
}

TEST_F(MainWindowTest, GivesNotesToTheBenchThatOwnsTheFile) {
  start();
  click("open_last");
  settle();
  auto* note = child<QLineEdit>("trial_note");
  ASSERT_TRUE(note->isEnabled());
  QTest::keyClicks(note, "lid was slow");
  QTest::keyClick(note, Qt::Key_Return);
  ASSERT_EQ(bench->notes.size(), 1U);
  EXPECT_EQ(bench->notes[0].second, "lid was slow");
  window.openTrial(3);
  settle();
  EXPECT_FALSE(note->isEnabled()) << "only the bench may write while it runs, and it writes to the last trial";
}

TEST_F(MainWindowTest, FollowsTheDesktopBetweenLightAndDark) {
  const QPalette before = QApplication::palette();
  QApplication::setPalette(dark_look().palette());
  QApplication::processEvents();
  EXPECT_TRUE(look_of(window.headline()).dark);
  QApplication::setPalette(light_look().palette());
  QApplication::processEvents();
  EXPECT_FALSE(look_of(window.headline()).dark);
  QApplication::setPalette(before);
}

TEST_F(MainWindowTest, EveryPartTakesTheLookWhateverTheDesktopsColours) {
  const QPalette before = QApplication::palette();
  start();
  for (const bool dark : {false, true}) {
    QPalette desktop;  // colours of some desktop, not ours
    desktop.setColor(QPalette::Window, dark ? 0x202020 : 0xEFEFEF);
    desktop.setColor(QPalette::WindowText, dark ? Qt::white : Qt::black);
    QApplication::setPalette(desktop);
    QApplication::processEvents();
    const Look& look = dark ? dark_look() : light_look();
    for (const QWidget* one : window.findChildren<QWidget*>())
      EXPECT_EQ(one->palette().color(QPalette::Active, QPalette::WindowText), look.ink)
          << one->metaObject()->className() << " " << one->objectName().toStdString();
  }
  QApplication::setPalette(before);
}

TEST_F(MainWindowTest, ReachesEverythingByTab) {
  start();
  bench->publish(invented_view(daq::Headline::pressurised));
  window.goTo(MainWindow::kBench);
  QStringList reached;
  for (int k = 0; k < 40; ++k) {
    key(Qt::Key_Tab);
    if (QApplication::focusWidget() != nullptr) reached += QApplication::focusWidget()->objectName();
  }
  for (const char* name : {"abort", "rail_bench", "rail_trial", "rail_campaign", "next_action", "log", "bench_note", "open_last"})
    EXPECT_TRUE(reached.contains(name)) << name;
}

}  // namespace
}  // namespace coldstroke::gui
