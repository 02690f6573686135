// SPDX-License-Identifier: GPL-3.0-or-later
//
// The real window over the real bench: two pseudo-terminals and the virtual rig as a process of its own, driven by the mouse.
#include <gtest/gtest.h>

#include <QApplication>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QSignalSpy>
#include <QTableWidget>
#include <QTemporaryDir>
#include <QTest>

#include "daq/bench/live_bench.hpp"
#include "gui/report/evidence_words.hpp"
#include "gui/window/bench/bench_page.hpp"
#include "gui/window/bench/headline_bar.hpp"
#include "gui/window/live_bench_source.hpp"
#include "gui/window/look.hpp"
#include "gui/window/main_window.hpp"
#include "gui/window/plot/trial_traces.hpp"
#include "gui/window/trial/trial_page.hpp"
#include "tests/gui/window/bench_until.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kPatienceMilliseconds = 150'000;

class WindowOnVirtualRig : public testing::Test {
 protected:
  void SetUp() override {
    QApplication::setPalette(light_look().palette());
    WindowDoors doors = real_doors();
    doors.virtual_rig = [this] { return open(); };
    window = std::make_unique<MainWindow>(std::move(doors));
    window->resize(1280, 800);
    window->show();
    QTest::mouseClick(window->findChild<QAbstractButton*>("start_virtual"), Qt::LeftButton);
    ASSERT_NE(bench, nullptr) << window->findChild<QLabel*>("start_complaint")->text().toStdString();
    page = window->findChild<BenchPage*>();
    // Whatever the next action is, if it may be done it is done: pressed, and held until it is confirmed.
    QObject::connect(bench, &BenchSource::viewChanged, window.get(), [this] { act(); });
    QObject::connect(page->nextAction(), &HoldButton::confirmed, window.get(),
                     [this] { QTest::mouseRelease(page->nextAction(), Qt::LeftButton); });
  }
  Result<OpenedBench> open() {
    auto setup = daq::parse_setup(daq::virtual_setup_text(), "built-in setup");
    if (!setup) return tl::unexpected{setup.error()};
    daq::LiveBench::Options options;
    options.setup = std::move(*setup);
    options.setup.alignment_limit_seconds = 20.0e-3;  // a busy machine holds bytes back; clocks are judged elsewhere
    options.campaign = folder.path().toStdString() + "/window.coldstroke";
    options.virtual_rig = true;
    options.program.executable = COLDSTROKE_PROGRAM;
    const auto campaign = options.campaign;
    auto started = daq::LiveBench::start(std::move(options));
    if (!started) return tl::unexpected{started.error()};
    auto source = std::make_unique<LiveBenchSource>(std::move(*started));
    bench = source.get();
    return OpenedBench{std::move(source), campaign};
  }
  void act() {
    const auto view = bench->view();
    auto* target = window->findChild<QLineEdit*>("target_pressure");
    if (acting && view->checklist.open && !view->typed_target_pascals && target->text().isEmpty()) {
      QTest::keyClicks(target, "8.0");
      QTest::keyClick(target, Qt::Key_Return);
    }
    HoldButton& next = *page->nextAction();
    if (acting && next.isEnabled() && !next.holding()) QTest::mousePress(&next, Qt::LeftButton);
  }
  bool until(const std::function<bool(const daq::BenchView&)>& done) { return bench_until(*bench, done, kPatienceMilliseconds); }
  void settle() {
    QSignalSpy idle{window.get(), &MainWindow::idle};
    while (window->busy()) ASSERT_TRUE(idle.wait(kPatienceMilliseconds));
  }
  QTemporaryDir folder;
  std::unique_ptr<MainWindow> window;
  BenchSource* bench = nullptr;
  BenchPage* page = nullptr;
  bool acting = true;
};

TEST_F(WindowOnVirtualRig, RunsATrialByMouseAndShowsItJudged) {
  QSignalSpy finished{bench, &BenchSource::trialFinished};
  ASSERT_TRUE(until([&](const daq::BenchView&) { return !finished.isEmpty(); })) << daq::word(bench->view()->step);
  acting = false;
  window->grab().save(COLDSTROKE_SCREENSHOTS "/real_bench.png");
  ASSERT_TRUE(until([](const daq::BenchView& view) { return view.last.has_value(); }));
  settle();
  QTest::mouseClick(window->findChild<QAbstractButton*>("open_last"), Qt::LeftButton);
  settle();
  EXPECT_EQ(window->page(), MainWindow::kTrial);
  const QString verdict = window->findChild<QLabel*>("verdict")->text();
  EXPECT_TRUE(verdict.startsWith("Trial 1: ")) << verdict.toStdString();
  EXPECT_EQ(verdict, "Trial 1: " + verdict_label(bench->view()->last->verdict)) << "what the bench said and what the file says";
  EXPECT_GE(window->findChild<TrialPage*>()->traces()->rowCount(), 4U);
  const auto* table = window->findChild<QTableWidget*>("metric_table");
  EXPECT_LE(table->horizontalHeader()->length(), table->viewport()->width()) << "the verdicts stand whole beside the scroll bar";
  const QString speeds = window->findChild<QWidget*>("speed_check")->accessibleDescription();
  for (const char* way : {"from force", "from acceleration", "from stroke", "from free fall"})
    EXPECT_TRUE(speeds.contains(way)) << way << " in: " << speeds.toStdString();
  window->grab().save(COLDSTROKE_SCREENSHOTS "/real_trial.png");
  window->goTo(MainWindow::kCampaign);
  // The campaign is weighed beside the page; then its sentence is what the trial shows.
  const auto weighed = read_weighed(folder.filePath("window.coldstroke").toStdString());
  ASSERT_TRUE(weighed) << weighed.error().what;
  const QString shown = text(weighed->evidence.statement.sentence);
  const auto* sentence = window->findChild<QLabel*>("campaign_sentence");
  EXPECT_TRUE(QTest::qWaitFor([&] { return sentence->text() == shown; }, kPatienceMilliseconds))
      << sentence->text().toStdString();
  window->grab().save(COLDSTROKE_SCREENSHOTS "/real_campaign.png");
}

TEST_F(WindowOnVirtualRig, AbortsAndVentsWithOneKeyWhilePressurised) {
  ASSERT_TRUE(until([](const daq::BenchView& view) { return view.step == daq::Step::settling; }))
      << daq::word(bench->view()->step);
  acting = false;
  window->goTo(MainWindow::kCampaign);
  QTest::keyClick(window.get(), Qt::Key_F12);
  ASSERT_TRUE(until([](const daq::BenchView& view) {
    return view.headline == daq::Headline::venting || view.headline == daq::Headline::safe;
  }));
  ASSERT_TRUE(until([](const daq::BenchView& view) { return view.headline == daq::Headline::safe; }));
  EXPECT_EQ(window->headline()->stateWords(), "SAFE");
}

TEST_F(WindowOnVirtualRig, VentsBeforeItCloses) {
  ASSERT_TRUE(until([](const daq::BenchView& view) { return view.step == daq::Step::settling; }))
      << daq::word(bench->view()->step);
  acting = false;
  window->close();
  ASSERT_TRUE(window->isVisible());
  QTest::mouseClick(window->findChild<QAbstractButton*>("close_vent"), Qt::LeftButton);
  EXPECT_TRUE(until([&](const daq::BenchView&) { return !window->isVisible(); }));
}

}  // namespace
}  // namespace coldstroke::gui
