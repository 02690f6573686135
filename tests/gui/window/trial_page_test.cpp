// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/trial/trial_page.hpp"

#include <gmock/gmock.h>

#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QSignalSpy>
#include <QTest>
#include <QWheelEvent>

#include "gui/window/look.hpp"
#include "gui/window/plot/trial_traces.hpp"
#include "gui/window/trial/metric_table.hpp"
#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

class TrialPageTest : public testing::Test {
 protected:
  TrialPageTest() {
    page.setPalette(light_look().palette());
    page.resize(1200, 700);
    page.QWidget::show();
  }
  void click(const char* name) { QTest::mouseClick(page.findChild<QPushButton*>(name), Qt::LeftButton); }
  TrialTraces& traces() { return *page.traces(); }
  TrialPage page;
};

void wheel(QWidget& widget, const QPointF& at, int steps) {
  QWheelEvent event{at, widget.mapToGlobal(at), {}, {0, 120 * steps}, Qt::NoButton, Qt::NoModifier, Qt::NoScrollPhase, false};
  QApplication::sendEvent(&widget, &event);
}

TEST_F(TrialPageTest, ShowsVerdictSentenceAndEveryMetric) {
  page.show(invented_trial({.peak_g = 43.1}));
  EXPECT_EQ(page.findChild<QLabel*>("verdict")->text(), "Trial 14: ✗ fail");
  EXPECT_THAT(page.findChild<QLabel*>("verdict_sentence")->text().toStdString(), testing::HasSubstr("3.1 g above the limit"));
  ASSERT_EQ(page.table()->rowCount(), 13);
  EXPECT_EQ(page.table()->item(1, MetricTable::kMetric)->text(), "Peak acceleration");
  EXPECT_EQ(page.table()->item(1, MetricTable::kValue)->text(), "43.10 ± 0.41 g");
  EXPECT_EQ(page.table()->item(1, MetricTable::kLimit)->text(), "≤ 40");
  EXPECT_THAT(page.table()->item(1, MetricTable::kVerdict)->text().toStdString(), testing::HasSubstr("fail"));
}

TEST_F(TrialPageTest, NamesTheReasonOfWhatIsAbsent) {
  page.show(invented_trial());
  const QString words = page.findChild<QPlainTextEdit*>("trial_words")->toPlainText();
  EXPECT_TRUE(words.contains("Exit speed, stroke: the stroke end was not seen"));
  EXPECT_TRUE(words.contains("wind rose after the count"));
}

TEST_F(TrialPageTest, ZoomsAroundThePointerPansAndResets) {
  page.show(invented_trial());
  page.grab();
  const Stretch first = traces().stretch();
  const QRectF area = traces().rowArea(0);
  wheel(traces(), {area.left() + area.width() * 0.25, area.center().y()}, 2);
  const Stretch zoomed = traces().stretch();
  EXPECT_NEAR(zoomed.length(), first.length() * 0.64, 1e-9);
  EXPECT_NEAR(zoomed.from_seconds + 0.25 * zoomed.length(), first.from_seconds + 0.25 * first.length(), 1e-3 * first.length());
  QTest::mousePress(&traces(), Qt::LeftButton, Qt::NoModifier, area.center().toPoint());
  QTest::mouseMove(&traces(), area.center().toPoint() - QPoint{100, 0});
  QTest::mouseRelease(&traces(), Qt::LeftButton, Qt::NoModifier, area.center().toPoint() - QPoint{100, 0});
  EXPECT_GT(traces().stretch().from_seconds, zoomed.from_seconds);
  EXPECT_NEAR(traces().stretch().length(), zoomed.length(), 1e-9);
  QTest::mouseDClick(&traces(), Qt::LeftButton);
  EXPECT_EQ(traces().stretch(), first);
}

TEST_F(TrialPageTest, SaysHowEachTraceIsShownAndShowsItUnfilteredAtAKey) {
  auto* button = page.findChild<QPushButton*>("show_unfiltered");
  page.show(invented_trial());
  EXPECT_FALSE(button->isEnabled()) << "no channel has a class";
  EXPECT_TRUE(traces().legend(0).endsWith(", unfiltered")) << "and that is said";
  ReportTrial trial = invented_trial();
  for (analysis::Trace& trace : trial.traces.traces) trace.frequency_class = trace.role == analysis::Role::force ? 60 : 0;
  page.show(trial);
  std::size_t row = 0;
  while (!traces().legend(row).contains("force")) ++row;
  EXPECT_TRUE(traces().legend(row).endsWith(", CFC 60"));
  ASSERT_TRUE(button->isEnabled());
  const double peak = trial.result.marks.peak_seconds.value_or(*trial.result.marks.first_motion_seconds + 0.01);
  const QString filtered = traces().reading(row, peak);
  QTest::keyClick(&page, Qt::Key_U);
  EXPECT_TRUE(traces().unfiltered());
  EXPECT_TRUE(traces().legend(row).endsWith(", unfiltered"));
  EXPECT_NE(traces().reading(row, peak), filtered);
  QTest::keyClick(&page, Qt::Key_U);
  EXPECT_EQ(traces().reading(row, peak), filtered);
  for (analysis::Trace& trace : trial.traces.traces) trace.frequency_class = trace.role == analysis::Role::force ? 1000 : 0;
  trial.traces.traces[0].period_seconds *= 20.0;  // too slow for that class
  for (analysis::Trace& trace : trial.traces.traces) trace.period_seconds = trial.traces.traces[0].period_seconds;
  page.show(trial);
  for (std::size_t k = 0; k < traces().rowCount(); ++k) EXPECT_FALSE(traces().legend(k).contains("CFC"));
}

TEST_F(TrialPageTest, NeverLeavesTheRecord) {
  page.show(invented_trial());
  for (int k = 0; k < 40; ++k) wheel(traces(), {300.0, 200.0}, -1);
  EXPECT_EQ(traces().stretch(), whole_record(invented_trial().traces));
  for (int k = 0; k < 200; ++k) wheel(traces(), {300.0, 200.0}, 1);
  EXPECT_GT(traces().stretch().length(), 0.0009);
}

TEST_F(TrialPageTest, ShowsADecisionThatCameSecondsLater) {
  page.show(invented_trial({.latency_seconds = 1.84}));
  EXPECT_LT(traces().stretch().to_seconds, 2.84);
  click("show_all_marks");
  EXPECT_GT(traces().stretch().to_seconds, 2.84);
  click("show_whole");
  EXPECT_EQ(traces().stretch(), whole_record(invented_trial().traces));
  click("show_stroke");
  EXPECT_LT(traces().stretch().length(), 0.3);
}

TEST_F(TrialPageTest, ReadsEveryTraceAtTheCrosshair) {
  ReportTrial trial = invented_trial();
  for (std::size_t k = 0; k < trial.traces.traces.size(); ++k) {
    for (double& sample : trial.traces.traces[k].samples) sample = 0.0;
    trial.traces.traces[k].samples[trial.traces.traces[k].period_seconds < 2e-4 ? 10200U : 2040U] = 2.0e5;
  }
  page.show(trial);
  page.grab();
  EXPECT_EQ(traces().reading(0, 1.02).section(' ', 0, 0).toDouble(), 2.0e5);
  EXPECT_EQ(traces().reading(1, 1.02).section(' ', 0, 0).toDouble(), 2.0);
  EXPECT_TRUE(traces().reading(1, 1.02).endsWith("bar"));
  EXPECT_NEAR(traces().reading(3, 1.02).section(' ', 0, 0).toDouble(), 2.0e5 / 9.80665, 1.0);
  EXPECT_EQ(traces().reading(0, 99.0), QString{});
  QTest::mouseMove(&traces(), traces().rowArea(0).center().toPoint());
  ASSERT_TRUE(traces().crosshairSeconds());
  const double before = *traces().crosshairSeconds();
  traces().setFocus();
  QTest::keyClick(&traces(), Qt::Key_Right);
  EXPECT_GT(*traces().crosshairSeconds(), before);
}

TEST_F(TrialPageTest, SaysLostWhereSamplesWereLost) {
  page.show(invented_trial({.lost_samples = true}));
  EXPECT_EQ(traces().reading(0, 1.0120), "lost");
  EXPECT_NE(traces().reading(0, 1.0200), "lost");
}

TEST_F(TrialPageTest, GoesToNeighboursByButtonAndKey) {
  page.show(invented_trial());
  page.setNeighbours(13, 15, "trial 14, 14 of 24");
  QSignalSpy wanted{&page, &TrialPage::trialWanted};
  click("trial_before");
  QTest::keyClick(&page, Qt::Key_PageDown);
  ASSERT_EQ(wanted.size(), 2);
  EXPECT_EQ(wanted[0][0].toLongLong(), 13);
  EXPECT_EQ(wanted[1][0].toLongLong(), 15);
  page.setNeighbours({}, 15, "trial 14");
  QTest::keyClick(&page, Qt::Key_PageUp);
  EXPECT_EQ(wanted.size(), 2);
}

TEST_F(TrialPageTest, KeepsANoteTypedButNotSentWhenAnotherTrialIsOpened) {
  page.show(invented_trial());
  page.setNotesBlocked({});
  QSignalSpy written{&page, &TrialPage::noteWritten};
  QTest::keyClicks(page.findChild<QLineEdit*>("trial_note"), "lid was slow");
  page.showReading(15);
  ASSERT_EQ(written.size(), 1);
  EXPECT_EQ(written[0][0].toLongLong(), 14);
  EXPECT_EQ(written[0][1].toString(), "lid was slow");
}

TEST_F(TrialPageTest, ShowsATrialThatWasAbortedAndOneThatCannotBeRead) {
  page.show(invented_aborted(9));
  EXPECT_EQ(page.findChild<QLabel*>("verdict")->text(), "Trial 9: – aborted");
  EXPECT_EQ(page.table()->rowCount(), 0);
  page.grab();
  page.showComplaint(9, {"The record is cut off.", "trial 9", "Restore the file from a copy."});
  EXPECT_THAT(page.findChild<QLabel*>("verdict_sentence")->text().toStdString(),
              testing::HasSubstr("Restore the file from a copy."));
}

TEST_F(TrialPageTest, ElidesNothingInTheMetricTable) {
  page.show(invented_trial({.peak_g = 43.1, .lost_samples = true}));
  page.grab();
  for (int row = 0; row < page.table()->rowCount(); ++row)
    for (const int column : {MetricTable::kMetric, MetricTable::kValue, MetricTable::kLimit}) {
      const QTableWidgetItem* item = page.table()->item(row, column);
      EXPECT_LE(page.table()->fontMetrics().horizontalAdvance(item->text()), page.table()->columnWidth(column))
          << item->text().toStdString();
    }
}

}  // namespace
}  // namespace coldstroke::gui
