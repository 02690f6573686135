// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pictures of every page in both themes, for people to look at, and what a program can check of them.
#include <gtest/gtest.h>

#include <QApplication>
#include <QCheckBox>
#include <QDir>
#include <QDoubleSpinBox>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QScreen>
#include <QSignalSpy>
#include <QTabWidget>
#include <QTableWidget>
#include <QTemporaryDir>
#include <QTest>
#include <cmath>
#include <fstream>
#include <set>

#include "gui/window/bench/bench_page.hpp"
#include "gui/window/bench/headline_bar.hpp"
#include "gui/window/calibration/calibration_page.hpp"
#include "gui/window/calibration/point_table.hpp"
#include "gui/window/campaign/campaign_page.hpp"
#include "gui/window/flight/charge_panel.hpp"
#include "gui/window/flight/flight_page.hpp"
#include "gui/window/look.hpp"
#include "gui/window/plot/charts.hpp"
#include "gui/window/plot/trial_traces.hpp"
#include "gui/window/trial/trial_page.hpp"
#include "tests/gui/invented_bench.hpp"
#include "tests/gui/invented_flight.hpp"
#include "tests/gui/invented_trial.hpp"

namespace coldstroke::gui {
namespace {

class Screenshots : public testing::TestWithParam<bool> {
 protected:
  Screenshots() : look{GetParam() ? dark_look() : light_look()} {
    QApplication::setPalette(look.palette());
    window = std::make_unique<MainWindow>(invented_doors(&bench));
    // The same screen in device pixels at every scale would be 853 x 533 at 150 %: that is the small end, taken too.
    window->resize(1280, 800);
    window->show();
    EXPECT_TRUE(QTest::qWaitForWindowExposed(window.get()));
  }
  void settle() {
    QSignalSpy idle{window.get(), &MainWindow::idle};
    while (window->busy()) ASSERT_TRUE(idle.wait(20'000));
    QApplication::processEvents();
  }
  QImage take(const QString& page) {
    // Laying out anew takes a few turns of the event loop, and the traces follow where their room has changed.
    for (int turn = 0; turn < 8; ++turn) QApplication::processEvents();
    if (bench != nullptr) window->findChild<BenchPage*>()->traces()->advance();
    const QImage image = window->grab().toImage();
    const double scale = window->devicePixelRatioF();
    QDir{}.mkpath(COLDSTROKE_SCREENSHOTS);
    const QString name = QStringLiteral("%1/%2_%3_%4%5.png")
                             .arg(COLDSTROKE_SCREENSHOTS, page, look.dark ? "dark" : "light")
                             .arg(static_cast<int>(100 * scale))
                             .arg(window->width() < 1000 ? "_small" : "");
    EXPECT_TRUE(image.save(name)) << name.toStdString();
    std::set<QRgb> colours;
    for (int y = 0; y < image.height(); y += 3)
      for (int x = 0; x < image.width(); x += 3) colours.insert(image.pixel(x, y));
    EXPECT_GT(colours.size(), 12U) << "a blank picture: " << name.toStdString();
    checkLayout(page);
    return image;
  }
  // Nothing covers the headline, and no label is cut off.
  void checkLayout(const QString& page) {
    EXPECT_TRUE(window->headline()->wordsFit()) << page.toStdString();
    const QRect headline{window->headline()->mapTo(window.get(), QPoint{}), window->headline()->size()};
    for (const QWidget* child : window->findChildren<QWidget*>()) {
      if (!child->isVisible() || child == window->headline() || window->headline()->isAncestorOf(child)) continue;
      const QRect place = QRect{child->mapTo(window.get(), QPoint{}), child->size()} & visibleFrame(*child);
      EXPECT_FALSE(place.intersects(headline)) << child->metaObject()->className() << " " << child->objectName().toStdString();
    }
    // In the smallest window rows scroll sideways; in any other every button stands there whole.
    if (window->width() >= 1000)
      for (const QPushButton* button : window->findChildren<QPushButton*>()) {
        const QRegion seen = button->visibleRegion();
        if (!button->isVisible() || seen.isEmpty()) continue;
        EXPECT_EQ(seen.boundingRect().width(), button->width()) << page.toStdString() << ": " << button->text().toStdString();
      }
    for (const QLabel* label : window->findChildren<QLabel*>()) {
      if (!label->isVisible() || label->text().isEmpty()) continue;
      if (label->wordWrap()) {
        EXPECT_GE(label->height(), label->heightForWidth(label->width()))
            << page.toStdString() << ": " << label->text().toStdString();
        continue;
      }
      EXPECT_GE(label->width(), label->fontMetrics().horizontalAdvance(label->text()))
          << page.toStdString() << ": " << label->text().toStdString();
    }
  }
  // What of a widget its scroll areas let through, in window coordinates.
  QRect visibleFrame(const QWidget& child) const {
    return QRect{child.mapTo(window.get(), child.visibleRegion().boundingRect().topLeft()),
                 child.visibleRegion().boundingRect().size()};
  }
  int pixels(const QImage& image, const QWidget& widget, const QRectF& area, const QColor& colour) const {
    const double scale = window->devicePixelRatioF();
    const QPointF corner = widget.mapTo(window.get(), QPointF{});
    const QRect field = QRectF{(corner + area.topLeft()) * scale, area.size() * scale}.toAlignedRect() & image.rect();
    int found = 0;
    for (int y = field.top(); y <= field.bottom(); ++y)
      for (int x = field.left(); x <= field.right(); ++x) found += image.pixelColor(x, y) == colour ? 1 : 0;
    return found;
  }
  void openBench() {
    window->openVirtualRig();
    settle();
    LiveTraces* traces = window->findChild<BenchPage*>()->traces();
    traces->advance();
    // Two seconds more in which the detector builds and decides, so that its band has something to show.
    daq::BenchView view = invented_view();
    for (int k = 0; k < 20; ++k) {
      view.detector = k < 12 ? wire::DetectorState::idle : k < 14 ? wire::DetectorState::building : wire::DetectorState::decided;
      bench->publish(view);
      for (std::size_t channel = 0; channel < 4; ++channel) {
        daq::History& history = *bench->histories[channel];
        const auto count = static_cast<std::size_t>(std::lround(0.1 / history.period_seconds()));
        history.append(1000 + history.capacity() + count * static_cast<std::size_t>(k), 110.0 + 0.1 * k,
                       std::vector<double>(count, channel == 1   ? 5.6e5
                                                  : channel == 3 ? 9.8
                                                                 : 0.3));
      }
      traces->advance();
    }
  }
  void calibrate() {
    window->goTo(MainWindow::kCalibration);
    auto* points = window->findChild<PointTable*>();
    for (const double load : {0.0, 250.0, 500.0, 750.0, 1000.0, 500.0, 0.0}) {
      const bool down = points->points().size() > 4;
      points->add({load, 17.0 + 4200.0 * load + 900.0 * std::sin(load) + (down ? 1200.0 : 0.0), 90.0, 10'000, down});
    }
  }
  const Look& look;
  ScriptedBench* bench = nullptr;
  std::unique_ptr<MainWindow> window;
};

constexpr analysis::Role kRoles[] = {analysis::Role::force, analysis::Role::supply_pressure, analysis::Role::chamber_pressure,
                                     analysis::Role::vehicle_acceleration};

TEST_P(Screenshots, BenchInEveryStep) {
  openBench();
  const LiveTraces& traces = *window->findChild<BenchPage*>()->traces();
  for (std::size_t k = 0; k < daq::kSteps; ++k) {
    const auto step = static_cast<daq::Step>(k);
    const QString name = QString{daq::word(step)}.replace(' ', '_');
    bench->publish(invented_view(step));
    QImage image = take("bench_" + name);
    const auto drawn = [&](std::size_t row) { return pixels(image, traces, traces.rowArea(row), look.trace(kRoles[row])); };
    // traces that were hidden are drawn anew a frame later, and a frame may take long on a busy machine
    for (int again = 0; again < 20 && traces.isVisible() && drawn(0) <= 300; ++again) image = take("bench_" + name);
    for (std::size_t row = 0; row < 4 && traces.isVisible(); ++row)
      EXPECT_GT(drawn(row), 300) << name.toStdString() << " " << row;
  }
  daq::BenchView lost = invented_view(daq::Headline::unknown);
  lost.last = daq::LastTrial{1213, "aborted", "settling -> aborting: board vented itself (the board made itself safe)"};
  lost.links[0].open = false;
  lost.links[0].trouble = "rig board port '/dev/ttyACM0' vanished. Check the cable; it is opened again as soon as it is back";
  bench->publish(lost);
  take("bench_unknown");
  bench->publish(invented_view());
  take("bench");
}

TEST_P(Screenshots, Checklist) {
  openBench();
  daq::BenchView view = invented_view(daq::Step::checks);
  bench->publish(view);
  window->findChild<QLineEdit*>("target_pressure")->setText("9.5");
  QTest::keyClick(window->findChild<QLineEdit*>("target_pressure"), Qt::Key_Return);
  take("checklist_refused");
  window->findChild<QLineEdit*>("target_pressure")->setText("8.0");
  QTest::keyClick(window->findChild<QLineEdit*>("target_pressure"), Qt::Key_Return);
  view.checklist.roles[0].name = "A. Moreau";
  view.checklist.roles[0].clock_time = "14:01:40";
  view.typed_target_pascals = 8.0e5;
  bench->publish(view);
  take("checklist_half_signed");
}

TEST_P(Screenshots, BypassAndNearKeepOut) {
  openBench();
  daq::BenchView view = invented_view();
  view.interlocks[6].bypassable = true;
  view.interlocks[6].bypass_reason = "the meter is out for repair, the cell was charged this morning";
  view.keep_out.configured_metres = 20.0;
  view.keep_out.warnings = {"keep-out 20.0 m is less than 30.0 m, the published floor (ASME PCC-2-2008)"};
  bench->publish(view);
  take("bench_bypass");
}

TEST_P(Screenshots, HandValves) {
  openBench();
  daq::Setup setup = invented_setup();
  setup.charge_valves = daq::ChargeValves::hand;
  daq::Readings readings;
  readings.pressure_age = 0.01;
  readings.pressure_pascals = 1.2e5;
  readings.pressure_slope = 5.0e3;
  for (const daq::Step step : {daq::Step::idle, daq::Step::charging}) {
    daq::BenchView view = invented_view(step);
    view.hand_steps = daq::hand_steps(step, readings, setup);
    view.lacking_protections = daq::lacking_protections(setup);
    bench->publish(view);
    take(QStringLiteral("hand_valves_") + daq::word(step));
  }
}

TEST_P(Screenshots, Setup) {
  take("start");
  openBench();
  window->goTo(MainWindow::kSetup);
  take("setup_blocked");
  bench->publish(invented_view(daq::Step::idle));
  take("setup");
  const QTemporaryDir folder;
  const std::string file = folder.filePath("rig.toml").toStdString();
  std::ofstream{file} << daq::virtual_setup_text();
  window->openSetup(file);
  take("setup_fault");
}

TEST_P(Screenshots, Trial) {
  window->openCampaign("/demo/larch.coldstroke");
  settle();
  for (const auto& [name, number] :
       {std::pair{"trial", 14LL}, {"trial_failed", 5LL}, {"trial_aborted", 9LL}, {"trial_void", 12LL}}) {
    window->openTrial(number);
    settle();
    const TrialTraces& traces = *window->findChild<TrialPage*>()->traces();
    const QImage image = take(name);
    for (std::size_t row = 0; row < traces.rowCount(); ++row)
      EXPECT_GT(pixels(image, traces, traces.rowArea(row), look.trace(kRoles[row])), 150) << name << " row " << row;
  }
  window->openTrial(14);
  settle();
  window->findChild<QTabWidget*>("trial_below")->setCurrentIndex(1);
  const auto* budget = window->findChild<Chart*>("trial_budget");
  EXPECT_GT(pixels(take("trial_budget"), *budget, QRectF{QPointF{}, budget->size()}, look.force), 200) << "the bars are drawn";
  window->findChild<QTabWidget*>("trial_below")->setCurrentIndex(0);
  window->openTrial(17);
  settle();
  TrialTraces& traces = *window->findChild<TrialPage*>()->traces();
  take("trial_late");
  traces.showAllMarks();
  traces.setCrosshair(1.3);
  take("trial_late_all_marks");
}

TEST_P(Screenshots, Campaign) {
  window->openCampaign("/demo/larch.coldstroke");
  settle();
  take("campaign");
  auto* page = window->findChild<CampaignPage*>();
  page->showEvidence(std::make_shared<const WeighedCampaign>(invented_weighed()));
  take("campaign_weighed");
  auto* tabs = window->findChild<QTabWidget*>("campaign_tabs");
  const auto tab = [&](int index, const QString& name) {
    tabs->setCurrentIndex(index);
    take("campaign_" + name);
  };
  tab(1, "drift");
  tab(2, "plan");
  tab(3, "comparison");
  auto* intended = window->findChild<QTableWidget*>("handover_table");
  for (const auto& [row, words] : {std::pair{0, "larch-board 2.1"}, {1, "1.8"}, {5, "3"}, {6, "18 mm, composite"}})
    intended->item(row, 2)->setText(words);
  tab(4, "flight");
  tab(5, "archive");
  tab(6, "import");
}

TEST_P(Screenshots, Flight) {
  window->goTo(MainWindow::kFlight);
  take("flight_empty");
  auto* page = window->findChild<FlightPage*>();
  page->show(invented_flight());
  const QImage climb = take("flight_climb");
  EXPECT_GT(pixels(climb, *page, QRectF{QPointF{}, page->size()}, look.force), 200) << "the climb is drawn in the look's colour";
  page->tabs()->setCurrentIndex(1);
  take("flight_no_plan");
  page->show(charge_plan_of(invented_charges()).value());
  page->charge()->ask();
  EXPECT_FALSE(page->charge()->answer().isEmpty());
  take("flight_plan");
  page->findChild<QDoubleSpinBox*>("wish_peak")->setValue(20.0);
  page->charge()->ask();
  EXPECT_TRUE(page->charge()->answer().contains("The largest charge that keeps that peak is outside"));
  take("flight_plan_too_hard");
  page->findChild<QCheckBox*>("wish_beyond")->setChecked(true);
  page->charge()->ask();
  const QString most = page->charge()->answer().section("Most that keeps the peak", 1);
  EXPECT_TRUE(most.contains("Beyond the recorded trials: charge") && most.contains("Extrapolated: the ±")) << most.toStdString();
  take("flight_plan_beyond");
}

TEST_P(Screenshots, Calibration) {
  window->goTo(MainWindow::kCalibration);
  take("calibration_empty");
  openBench();
  calibrate();
  const QImage image = take("calibration");
  const auto* page = window->findChild<CalibrationPage*>();
  EXPECT_GT(pixels(image, *page, QRectF{QPointF{}, page->size()}, look.force), 200) << "the curve is drawn in the look's colour";
  auto* tabs = window->findChild<QTabWidget*>("calibration_tabs");
  for (int k = 1; k < tabs->count(); ++k) {
    tabs->setCurrentIndex(k);
    take(QStringLiteral("calibration_%1").arg(k));
  }
}

TEST_P(Screenshots, Closing) {
  openBench();
  window->close();
  take("closing");
}

TEST_P(Screenshots, FileChooser) {
  openBench();
  window->goTo(MainWindow::kCampaign);
  QTest::mouseClick(window->findChild<QAbstractButton*>("campaign_open"), Qt::LeftButton);
  take("file_chooser");
}

TEST_P(Screenshots, SmallWindow) {
  window->resize(853, 533);
  QApplication::processEvents();
  EXPECT_EQ(window->size(), QSize(853, 533)) << "1280 x 800 device pixels at 150 % must hold the window";
  openBench();
  bench->publish(invented_view());
  take("bench");
  window->openTrial(14);
  settle();
  take("trial");
  window->goTo(MainWindow::kCampaign);
  take("campaign");
  window->findChild<CampaignPage*>()->showEvidence(std::make_shared<const WeighedCampaign>(invented_weighed()));
  auto* campaign_tabs = window->findChild<QTabWidget*>("campaign_tabs");
  for (int tab = 1; tab < campaign_tabs->count(); ++tab) {
    campaign_tabs->setCurrentIndex(tab);
    take(QStringLiteral("campaign_tab_%1").arg(tab));
  }
  window->goTo(MainWindow::kFlight);
  take("flight_climb");
  auto* flight = window->findChild<FlightPage*>();
  flight->tabs()->setCurrentIndex(1);
  flight->show(charge_plan_of(invented_charges()).value());
  flight->charge()->ask();
  take("flight_plan");
  window->goTo(MainWindow::kSetup);
  take("setup");
  calibrate();
  take("calibration");
  const auto* points = window->findChild<PointTable*>();
  EXPECT_LE(points->horizontalHeader()->length(), points->viewport()->width()) << "the last head is cut off";
  for (int column = 0; column < points->columnCount(); ++column) {
    const QString head = points->horizontalHeaderItem(column)->text();
    EXPECT_GE(points->horizontalHeader()->sectionSize(column), points->fontMetrics().horizontalAdvance(head))
        << head.toStdString();
  }
  for (const daq::Step step : {daq::Step::checks, daq::Step::counting, daq::Step::keep_clear}) {
    window->goTo(MainWindow::kBench);
    bench->publish(invented_view(step));
    take(QStringLiteral("bench_%1").arg(QString{daq::word(step)}.replace(' ', '_')));
  }
}

INSTANTIATE_TEST_SUITE_P(BothThemes, Screenshots, testing::Bool(), [](const auto& one) { return one.param ? "Dark" : "Light"; });

}  // namespace
}  // namespace coldstroke::gui
