// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/bench_page.hpp"

#include <gmock/gmock.h>

#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QScrollBar>
#include <QSignalSpy>
#include <QTest>

#include "gui/window/bench/hold_button.hpp"
#include "gui/window/bench/interlock_list.hpp"
#include "gui/window/bench/link_panel.hpp"
#include "tests/gui/invented_bench.hpp"

namespace coldstroke::gui {
namespace {

TEST(BenchPage, SaysWhyTheNextActionIsBlocked) {
  BenchPage page;
  page.show(invented_view());
  EXPECT_FALSE(page.nextAction()->isEnabled());
  EXPECT_EQ(page.findChild<QLabel*>("why_not")->text(), "Not yet: the lid reads shut, it must be open");
}

TEST(BenchPage, AsksForTheActionThatWasHeld) {
  BenchPage page;
  page.show(invented_view(daq::Headline::pressurised));
  page.QWidget::show();
  QSignalSpy requested{&page, &BenchPage::requested};
  page.nextAction()->setHoldMilliseconds(30);
  QTest::mousePress(page.nextAction(), Qt::LeftButton);
  ASSERT_TRUE(requested.wait(20'000));
  EXPECT_EQ(requested[0][0].value<daq::OperatorRequest>(), daq::OperatorRequest::count);
}

TEST(BenchPage, NeedsNoHoldWhereTheViewAsksForNone) {
  BenchPage page;
  page.show(invented_view(daq::Headline::safe));
  page.QWidget::show();
  QSignalSpy requested{&page, &BenchPage::requested};
  QTest::mousePress(page.nextAction(), Qt::LeftButton);
  ASSERT_EQ(requested.size(), 1);
  EXPECT_EQ(requested[0][0].value<daq::OperatorRequest>(), daq::OperatorRequest::begin);
}

TEST(BenchPage, ListsReadingLimitAndRemedyOfWhatDoesNotHold) {
  const daq::InterlockLine lid{"Lid", "shut", "open", "Open the lid.", false, true};
  EXPECT_EQ(InterlockList::why(lid), "reads shut; must be open. Open the lid.");
  const daq::InterlockLine old{"Battery", "7.1 V", "≥ 6.8 V", "", false, false};
  EXPECT_EQ(InterlockList::why(old), "no fresh reading, last 7.1 V; must be ≥ 6.8 V.");
}

TEST(BenchPage, NamesEveryKindOfLoss) {
  wire::LineCounts counts;
  EXPECT_EQ(losses(counts), "nothing lost");
  for (std::size_t kind = 0; kind < wire::kFrameFaultKinds; ++kind) counts.faults[kind] = kind + 1;
  EXPECT_EQ(losses(counts).count(','), static_cast<int>(wire::kFrameFaultKinds) - 1);
}

TEST(BenchPage, ShowsTheLogAndKeepsTheReadersPlace) {
  BenchPage page;
  daq::BenchView view = invented_view();
  for (int k = 0; k < 100; ++k) view.log.push_back({"14:03:00", "line " + std::to_string(k)});
  page.resize(1200, 700);
  page.QWidget::show();
  page.show(view);
  auto* log = page.findChild<QPlainTextEdit*>("log");
  EXPECT_TRUE(log->toPlainText().endsWith("line 99"));
  log->verticalScrollBar()->setValue(10);
  view.log.push_back({"14:03:01", "one more"});
  page.show(view);
  EXPECT_EQ(log->verticalScrollBar()->value(), 10);
}

TEST(BenchPage, OffersTheLastTrialAndKeepsNotes) {
  BenchPage page;
  page.show(invented_view());
  QSignalSpy wanted{&page, &BenchPage::trialWanted}, written{&page, &BenchPage::noteWritten};
  QTest::mouseClick(page.findChild<QPushButton*>("open_last"), Qt::LeftButton);
  ASSERT_EQ(wanted.size(), 1);
  EXPECT_EQ(wanted[0][0].toLongLong(), 13);
  QTest::keyClicks(page.findChild<QLineEdit*>("bench_note"), "wind 4 m/s");
  QTest::keyClick(page.findChild<QLineEdit*>("bench_note"), Qt::Key_Return);
  ASSERT_EQ(written.size(), 1);
  EXPECT_EQ(written[0][0].toString(), "wind 4 m/s");
}

TEST(BenchPage, TakesAnEmptyViewAndTextFromABoardAsPlainText) {
  BenchPage page;
  page.show(daq::BenchView{});
  daq::BenchView view = invented_view();
  view.links[0].trouble = "<b>not bold</b>";
  page.show(view);
  bool found = false;
  for (const QLabel* label : page.findChild<QWidget*>("links")->findChildren<QLabel*>())
    if (label->text().contains("<b>")) found = label->textFormat() == Qt::PlainText;
  EXPECT_TRUE(found);
}

}  // namespace
}  // namespace coldstroke::gui
