// SPDX-License-Identifier: GPL-3.0-or-later
//
// The detector page in the real window: a computed library, its map, the keys, and pictures in both themes.
#include "gui/window/detector/detector_page.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <QApplication>
#include <QComboBox>
#include <QDir>
#include <QFileDialog>
#include <QLabel>
#include <QPushButton>
#include <QRegularExpression>
#include <QScrollArea>
#include <QScrollBar>
#include <QSignalSpy>
#include <QTabWidget>
#include <QTemporaryDir>
#include <QTest>
#include <filesystem>
#include <fstream>
#include <set>

#include "analysis/detector/synthesise.hpp"
#include "gui/window/detector/before_after_panel.hpp"
#include "gui/window/detector/contours.hpp"
#include "gui/window/detector/detector_page.hpp"
#include "gui/window/detector/map_view.hpp"
#include "gui/window/main_window.hpp"
#include "tests/gui/invented_bench.hpp"

namespace coldstroke::gui {
namespace {

std::vector<analysis::Recording> library() {
  analysis::Scene scene;
  scene.seed = 3;
  std::vector<analysis::Recording> out;
  for (int i = 0; i < 6; ++i) {
    analysis::PulseParameters pulse;
    pulse.shape = analysis::PulseShape::half_sine;
    pulse.peak_g = 8.0 + i;
    out.push_back(*analysis::synthesise_pulse("stroke " + std::to_string(i), pulse, scene));
  }
  for (const auto event : analysis::kSilentEvents)
    out.push_back(*analysis::synthesise_silent(word(event), analysis::typical(event), scene));
  return out;
}

analysis::DetectorSpec detector() {
  analysis::DetectorSpec spec;
  spec.name = "mean of 20 ms";
  spec.window_seconds = 0.020;
  spec.threshold_g = 4.0;
  spec.building_g = 1.0;
  spec.board = {2000.0, 16, 64.0};
  return spec;
}

/// Decides sooner, and on handling too.
analysis::DetectorSpec quick() {
  auto spec = detector();
  spec.name = "2 g held 1 ms";
  spec.kind = analysis::DetectorKind::sustained;
  spec.window_seconds = 0.001;
  spec.threshold_g = 2.0;
  return spec;
}

class DetectorPageTest : public testing::TestWithParam<bool> {
 protected:
  DetectorPageTest() {
    QApplication::setPalette((GetParam() ? dark_look() : light_look()).palette());
    auto doors = invented_doors(&bench);
    doors.virtual_board = {COLDSTROKE_PROGRAM, {"virtual"}};
    window = std::make_unique<MainWindow>(std::move(doors));
    window->resize(1280, 800);
    window->QWidget::show();
    EXPECT_TRUE(QTest::qWaitForWindowExposed(window.get()));
    QTest::keyClick(window.get(), Qt::Key_D);
    page = window->findChild<DetectorPage*>();
    EXPECT_TRUE(page->isVisible());
  }
  void compute() {
    QSignalSpy shown{page, &DetectorPage::mapShown};
    page->show(library(), "computed");
    page->show({quick(), detector()});
    ASSERT_TRUE(shown.wait(60'000));
  }
  void choose_second() {
    QSignalSpy shown{page, &DetectorPage::mapShown};
    auto* choice = page->findChild<QComboBox*>("detector_choice");
    choice->setCurrentIndex(1);
    Q_EMIT choice->activated(1);
    ASSERT_TRUE(shown.wait(60'000));
  }
  void go_to(int tab) { page->findChild<QTabWidget*>("detector_tabs")->setCurrentIndex(tab); }
  static void press_and_wait(DetectorPanel* panel) {
    QSignalSpy shown{panel, &DetectorPanel::shown};
    QTest::mouseClick(panel->findChild<QPushButton*>(panel->objectName() + "_begin"), Qt::LeftButton);
    ASSERT_TRUE(shown.wait(120'000));
  }
  /// For docs and eyes; and not empty.
  void take_picture(const char* name) {
    QApplication::processEvents();
    const QImage image = window->grab().toImage();
    QDir{}.mkpath(COLDSTROKE_SCREENSHOTS);
    EXPECT_TRUE(
        image.save(QStringLiteral("%1/detector-%2-%3.png").arg(COLDSTROKE_SCREENSHOTS, name, GetParam() ? "dark" : "light")));
    std::set<QRgb> colours;
    for (int y = 0; y < image.height(); y += 3)
      for (int x = 0; x < image.width(); x += 3) colours.insert(image.pixel(x, y));
    EXPECT_GT(colours.size(), 12U);
  }
  QString words(const char* name) const { return page->findChild<QLabel*>(name)->text(); }
  ScriptedBench* bench = nullptr;
  std::unique_ptr<MainWindow> window;
  DetectorPage* page = nullptr;
};

TEST_P(DetectorPageTest, ShowsTheMapWithTheRobustRegionAndSaysIt) {
  compute();
  choose_second();
  const MapFigure& figure = page->map()->figure();
  EXPECT_EQ(figure.map.cells.size(), 1600U);
  ASSERT_TRUE(figure.region);
  EXPECT_TRUE(figure.present);
  EXPECT_TRUE(words("detector_answer").contains("Robust region"));
  ASSERT_TRUE(QTest::qWaitFor([this] { return words("detector_answer").contains("nothing is tolerated"); }, 60'000));
  take_picture("map");
}

TEST_P(DetectorPageTest, AnyTwoParametersMakeAMapAndTheSameOneTwiceIsRefused) {
  compute();
  auto* rows = page->findChild<QComboBox*>("map_rows");
  QSignalSpy shown{page, &DetectorPage::mapShown};
  rows->setCurrentIndex(rows->findText("filter shift"));
  Q_EMIT rows->activated(rows->currentIndex());
  ASSERT_TRUE(shown.wait(60'000));
  EXPECT_EQ(page->map()->figure().map.rows.parameter, analysis::MapParameter::filter_shift);
  rows->setCurrentIndex(page->findChild<QComboBox*>("map_columns")->currentIndex());
  Q_EMIT rows->activated(rows->currentIndex());
  ASSERT_TRUE(QTest::qWaitFor([this] { return words("detector_map_panel_message").contains("choose two different"); }, 60'000));
}

TEST_P(DetectorPageTest, BeforeAndAfterIsOneSentenceWithNumbersAndTracesAndFiles) {
  compute();
  go_to(1);
  auto* panel = page->findChild<DetectorPanel*>("before_after_panel");
  press_and_wait(panel);
  EXPECT_TRUE(words("before_after_sentence").contains("4 recordings mended, 0 broken"))
      << words("before_after_sentence").toStdString();
  EXPECT_TRUE(words("before_after_numbers").contains("Fisher exact"));
  EXPECT_TRUE(words("before_after_numbers").contains("Hodges-Lehmann"));
  take_picture("before-after");
  QSignalSpy wanted{page, &DetectorPage::saveWanted};
  QTest::mouseClick(panel->findChild<QPushButton*>("before_after_panel_save"), Qt::LeftButton);
  ASSERT_EQ(wanted.size(), 1);
  const auto write = wanted.front().at(1).value<FileWriter>();
  const std::filesystem::path folder = testing::TempDir();
  for (const char* name : {"ba.png", "ba.svg", "ba.csv", "ba.json"}) {
    ASSERT_TRUE(write(folder / name));
    EXPECT_GT(std::filesystem::file_size(folder / name), 400U) << name;
  }
  EXPECT_FALSE(write(folder / "ba.doc"));
}

/// A playback to the virtual board of this scenario, in simulated time, saved as the Playback panel saves it.
std::filesystem::path saved_playback(const std::vector<analysis::Recording>& recordings, const char* scenario) {
  daq::VirtualRigOptions options;
  options.scenario = scenario;
  const auto run = daq::play_to_virtual_board(options, true,
                                              [&](const daq::BoardClaims& claims) { return daq::stimuli_of(recordings, claims); },
                                              {}, {COLDSTROKE_PROGRAM, {"virtual"}});
  EXPECT_TRUE(run) << run.error().what;
  const auto report = daq::judge_playback(*run, std::nullopt);
  EXPECT_TRUE(report) << report.error().what;
  const std::filesystem::path file = std::filesystem::path{testing::TempDir()} / (std::string{scenario} + ".json");
  std::ofstream{file} << daq::playback_json(*report, *run);
  return file;
}

TEST_P(DetectorPageTest, TwoBoardsAnswersToAPlaybackAreCompared) {
  page->show(library(), "computed");
  go_to(1);
  auto* panel = page->findChild<BeforeAfterPanel*>();
  QSignalSpy wanted{page, &DetectorPage::fileRequested};
  QTest::mouseClick(panel->findChild<QPushButton*>("open_played_answers"), Qt::LeftButton);
  ASSERT_EQ(wanted.size(), 1);
  const auto request = wanted.front().at(0).value<FileRequest>();
  EXPECT_FALSE(request.to_write);
  auto* chooser = window->findChild<QFileDialog*>("file_chooser");
  ASSERT_NE(chooser, nullptr);
  chooser->reject();
  ASSERT_TRUE(panel->isVisible());
  auto* begin = panel->findChild<QPushButton*>("before_after_panel_begin");
  request.then(saved_playback(library(), "long_window"));
  EXPECT_FALSE(begin->isEnabled() && begin->toolTip().isEmpty()) << "the other board's answers are wanting";
  request.then(saved_playback(library(), "steady"));
  EXPECT_TRUE(page->findChild<QComboBox*>("before_choice")->currentText().startsWith("played: long_window"));
  EXPECT_TRUE(page->findChild<QComboBox*>("after_choice")->currentText().startsWith("played: steady"));
  press_and_wait(panel);
  EXPECT_TRUE(words("before_after_sentence").contains("from \"long_window, ")) << words("before_after_sentence").toStdString();
  EXPECT_TRUE(words("before_after_sentence").contains("recordings mended, 0 broken"));
  EXPECT_FALSE(page->findChild<QScrollArea*>()->horizontalScrollBar()->isVisible()) << "the row of controls fits";
  take_picture("before-after-played");
  // A replay beside a board's answers is refused in words, and a file that is none likewise.
  page->show({quick(), detector()});
  page->findChild<QComboBox*>("before_choice")->setCurrentIndex(0);
  page->findChild<QComboBox*>("after_choice")->setCurrentIndex(2);
  QTest::mouseClick(begin, Qt::LeftButton);
  EXPECT_TRUE(words("before_after_panel_message").contains("two different things"));
  request.then(std::filesystem::path{COLDSTROKE_PROGRAM});
  EXPECT_TRUE(words("before_after_panel_message").contains("no JSON")) << words("before_after_panel_message").toStdString();
}

TEST_P(DetectorPageTest, AProposalSaysItsMarginsAndWhatIsMissingAndCanBeSaved) {
  compute();
  go_to(2);
  auto* panel = page->findChild<DetectorPanel*>("proposal_panel");
  press_and_wait(panel);
  EXPECT_TRUE(words("proposal_answer").contains("A person decides"));
  EXPECT_TRUE(words("proposal_answer").contains("missing: no must-fire recording comes from a real ejection"));
  EXPECT_TRUE(words("proposal_answer").contains("[[detector]]"));
  take_picture("proposal");
}

TEST_P(DetectorPageTest, APlaybackIsMarkedAndItsAnswersAreCompared) {
  compute();
  go_to(3);
  const auto* banner = page->findChild<QWidget*>("playback_banner");
  ASSERT_TRUE(banner->isVisible());
  EXPECT_TRUE(banner->accessibleName().startsWith("PLAYBACK, no trial"));
  press_and_wait(page->findChild<DetectorPanel*>("playback_panel"));
  EXPECT_TRUE(words("playback_answer").startsWith("PLAYBACK, no trial"));
  EXPECT_TRUE(words("playback_answer").contains("samples lost; board and replay agree in all"))
      << words("playback_answer").toStdString();
  take_picture("playback");
}

/// Real time, so that there is time to press Stop; the first stimulus is played whole, the rest is said not to have been reached.
TEST_P(DetectorPageTest, APlaybackIsStoppedFromThePageAndWhatWasPlayedIsKept) {
  compute();
  go_to(3);
  auto* panel = page->findChild<DetectorPanel*>("playback_panel");
  auto* board = page->findChild<QComboBox*>("playback_board");
  board->setCurrentIndex(board->findData("virtual"));
  QSignalSpy shown{panel, &DetectorPanel::shown};
  QSignalSpy progressed{panel->findChild<BackgroundJob*>(), &BackgroundJob::progressed};
  QTest::mouseClick(panel->findChild<QPushButton*>("playback_panel_begin"), Qt::LeftButton);
  ASSERT_TRUE(QTest::qWaitFor([&] { return !progressed.empty() && progressed.back().at(0).toInt() >= 1; }, 60'000));
  auto* stop = panel->findChild<QPushButton*>("playback_panel_stop");
  ASSERT_TRUE(stop->isVisible());
  QTest::mouseClick(stop, Qt::LeftButton);
  ASSERT_TRUE(shown.wait(60'000));
  EXPECT_FALSE(panel->busy());
  EXPECT_FALSE(stop->isVisible());
  EXPECT_TRUE(words("playback_panel_message").contains("stopped by the person")) << words("playback_panel_message").toStdString();
  EXPECT_TRUE(words("playback_answer").contains("It was not reached.")) << words("playback_answer").toStdString();
  EXPECT_TRUE(words("playback_answer").contains(QRegularExpression{"\\b([1-9]|1[0-3]) of 14 stimuli played, 0 of"}))
      << words("playback_answer").toStdString();
  EXPECT_TRUE(panel->findChild<QPushButton*>("playback_panel_begin")->isEnabled()) << "it may be begun again";
}

/// A flight board behind a port of its own: the virtual rig in another process, as a person would name it.
TEST_P(DetectorPageTest, APlaybackGoesOverAPseudoTerminalToAnotherProcess) {
  auto rig = daq::VirtualRigProcess::start_real_time({}, {COLDSTROKE_PROGRAM, {"virtual"}});
  ASSERT_TRUE(rig) << rig.error().what;
  auto few = library();
  few.resize(3);
  page->show(std::move(few), "three strokes");
  page->show({quick()});
  go_to(3);
  page->findChild<QComboBox*>("playback_board")->setEditText(QString::fromStdString(rig->flight_port()));
  press_and_wait(page->findChild<DetectorPanel*>("playback_panel"));
  EXPECT_TRUE(words("playback_answer").contains("3 of 3 stimuli played, 0 of")) << words("playback_answer").toStdString();
  EXPECT_TRUE(words("playback_answer").contains("board and replay agree in all")) << words("playback_answer").toStdString();
  EXPECT_EQ(rig->end(), 0) << "it was there all along, and ends when told";
}

TEST_P(DetectorPageTest, TheRecordingsAreKeptInACampaignAndOpenedFromIt) {
  const QTemporaryDir folder;
  const std::filesystem::path file = folder.filePath("kept.coldstroke").toStdString();
  auto* keep = page->findChild<QPushButton*>("detector_keep");
  EXPECT_FALSE(keep->isEnabled()) << "nothing to keep yet";
  page->show(library(), "computed");
  ASSERT_TRUE(keep->isEnabled());
  QSignalSpy wanted{page, &DetectorPage::fileRequested};
  QTest::mouseClick(keep, Qt::LeftButton);
  ASSERT_EQ(wanted.size(), 1);
  window->findChild<QFileDialog*>("file_chooser")->reject();
  wanted.front().at(0).value<FileRequest>().then(file);
  ASSERT_TRUE(QTest::qWaitFor([this] { return words("detector_files").contains("; kept in kept.coldstroke"); }, 60'000));
  page->openLibrary(file);
  ASSERT_TRUE(QTest::qWaitFor([this] { return words("detector_files").startsWith("kept.coldstroke: 14 recordings"); }, 60'000))
      << words("detector_files").toStdString();
  page->keepIn(file);  // the same names again
  ASSERT_TRUE(
      QTest::qWaitFor([this] { return words("detector_map_panel_message").contains("two recordings have this name"); }, 60'000));
}

TEST_P(DetectorPageTest, ACellIsChosenByMouseAndByKeysAndRead) {
  compute();
  MapView* map = page->map();
  const QRectF field = map_field(QSizeF{map->size()});
  QTest::mouseClick(map, Qt::LeftButton, {}, field.center().toPoint());
  ASSERT_TRUE(map->chosen());
  const auto before = *map->chosen();
  map->setFocus();
  QTest::keyClick(map, Qt::Key_Up);
  EXPECT_EQ(map->chosen()->row, before.row + 1);
  QTest::keyClick(map, Qt::Key_Left);
  EXPECT_EQ(map->chosen()->column, before.column - 1);
  EXPECT_TRUE(words("detector_cell").contains("level margin"));
}

TEST_P(DetectorPageTest, ALibraryThatCannotBeReadIsSaidAndNothingIsLost) {
  compute();
  page->openTable("/nowhere/none.toml");
  EXPECT_TRUE(words("detector_map_panel_message").contains("none.toml"));
  EXPECT_FALSE(page->map()->figure().map.cells.empty());
}

INSTANTIATE_TEST_SUITE_P(Theme, DetectorPageTest, testing::Bool());

MapFigure small_figure() {
  const auto made = library();
  auto spec = detector();
  const auto plan = plan_operating_map(made, spec, {analysis::MapParameter::window_seconds, {0.005, 0.01, 0.02, 0.03}},
                                       {analysis::MapParameter::threshold, {0.5, 2.0, 4.0, 6.0, 20.0}});
  EXPECT_TRUE(plan) << plan.error().what;
  MapFigure figure{*operating_map(*plan), {}, "small & plain", {}, {}};
  figure.region = find_robust_region(figure.map);
  figure.present = nearest_place(figure.map, 0.02, 4.0);
  return figure;
}

TEST(MapDrawing, EveryCellIsDoubledByItsLetterAndSvgHoldsThemAll) {
  const MapFigure figure = small_figure();
  const QSizeF size{800.0, 600.0};
  const auto shapes = map_shapes(figure, size, light_look());
  std::size_t letters = 0;
  for (const auto& shape : shapes)
    if (shape.kind == FigureShape::Kind::words && shape.words.size() == 1 && QString{"ASMLF"}.contains(shape.words)) ++letters;
  EXPECT_EQ(letters, 20U + 5U) << "the cells and the legend";
  const std::string picture = figure_svg(figure_of(shapes, size));
  EXPECT_NE(picture.find("small &amp; plain"), std::string::npos);
  EXPECT_NE(picture.find("present"), std::string::npos);
}

TEST(MapDrawing, CsvHasALineForEveryCell) {
  const MapFigure figure = small_figure();
  const std::string csv = map_csv(figure.map);
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 21);
  EXPECT_EQ(csv.substr(0, 14), "window_seconds");
}

TEST(Contours, FollowAPlaneAndStayWithinTheCellsAlwaysInTime) {
  analysis::OperatingMap map{
      {analysis::MapParameter::window_seconds, {1, 2, 3, 4}}, {analysis::MapParameter::threshold, {1, 2, 3, 4, 5}}, {}};
  for (std::size_t row = 0; row < 4; ++row) {
    for (std::size_t column = 0; column < 5; ++column) {
      analysis::MapCell cell;
      cell.outcome = column == 4 ? analysis::CellOutcome::late : analysis::CellOutcome::always_in_time;
      cell.level_margin = 10.0 * static_cast<double>(column) + static_cast<double>(row);
      map.cells.push_back(cell);
    }
  }
  const auto contours = contours_of(map, [](const analysis::MapCell& cell) { return std::optional{cell.level_margin}; });
  ASSERT_EQ(contours.size(), 3U) << "10, 20, 30 of 0 to 33";
  for (const Contour& contour : contours) {
    for (const QLineF& segment : contour.segments) {
      for (const QPointF end : {segment.p1(), segment.p2()}) {
        EXPECT_NEAR(10.0 * end.x() + end.y(), contour.level, 1.0e-9);
        EXPECT_LE(end.x(), 3.0);
      }
    }
  }
  EXPECT_TRUE(contours_of(map, [](const analysis::MapCell&) { return std::optional{1.0}; }).empty());
}

TEST(MapDrawing, APointIsFoundInItsCellAndOutsideNone) {
  const MapFigure figure = small_figure();
  const QSizeF size{800.0, 600.0};
  const QRectF field = map_field(size);
  EXPECT_EQ(place_at(figure, size, field.bottomLeft() + QPointF{2.0, -2.0}), (analysis::MapPlace{0, 0}));
  EXPECT_EQ(place_at(figure, size, field.topRight() + QPointF{-2.0, 2.0}), (analysis::MapPlace{3, 4}));
  EXPECT_FALSE(place_at(figure, size, {1.0, 1.0}));
  EXPECT_FALSE(nearest_place(figure.map, 0.2, 4.0));
}

}  // namespace
}  // namespace coldstroke::gui
