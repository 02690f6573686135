// SPDX-License-Identifier: GPL-3.0-or-later
//
// The detector page in the real window: a computed library, its map, the keys, and pictures in both themes.
#include "gui/window/detector/detector_page.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <QApplication>
#include <QDir>
#include <QLabel>
#include <QPushButton>
#include <QSignalSpy>
#include <QTest>
#include <set>

#include "analysis/detector/synthesise.hpp"
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

class DetectorPageTest : public testing::TestWithParam<bool> {
 protected:
  DetectorPageTest() {
    QApplication::setPalette((GetParam() ? dark_look() : light_look()).palette());
    window = std::make_unique<MainWindow>(invented_doors(&bench));
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
    page->show({detector()});
    ASSERT_TRUE(shown.wait(60'000));
  }
  QString words(const char* name) const { return page->findChild<QLabel*>(name)->text(); }
  ScriptedBench* bench = nullptr;
  std::unique_ptr<MainWindow> window;
  DetectorPage* page = nullptr;
};

TEST_P(DetectorPageTest, ShowsTheMapWithTheRobustRegionAndSaysIt) {
  compute();
  const MapFigure& figure = page->map()->figure();
  EXPECT_EQ(figure.map.cells.size(), 1600U);
  ASSERT_TRUE(figure.region);
  EXPECT_TRUE(figure.present);
  EXPECT_TRUE(words("detector_answer").contains("Robust region"));
  QApplication::processEvents();
  const QImage image = window->grab().toImage();
  QDir{}.mkpath(COLDSTROKE_SCREENSHOTS);
  EXPECT_TRUE(image.save(QStringLiteral("%1/detector_%2.png").arg(COLDSTROKE_SCREENSHOTS, GetParam() ? "dark" : "light")));
  std::set<QRgb> colours;
  for (int y = 0; y < image.height(); y += 3)
    for (int x = 0; x < image.width(); x += 3) colours.insert(image.pixel(x, y));
  EXPECT_GT(colours.size(), 12U);
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
  EXPECT_TRUE(words("detector_message").contains("none.toml"));
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
    if (shape.kind == MapShape::Kind::words && shape.words.size() == 1 && QString{"ASMLF"}.contains(shape.words)) ++letters;
  EXPECT_EQ(letters, 20U + 5U) << "the cells and the legend";
  const std::string picture = svg(shapes, size, light_look());
  EXPECT_NE(picture.find("small &amp; plain"), std::string::npos);
  EXPECT_NE(picture.find("present"), std::string::npos);
}

TEST(MapDrawing, CsvHasALineForEveryCell) {
  const MapFigure figure = small_figure();
  const std::string csv = map_csv(figure.map);
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 21);
  EXPECT_EQ(csv.substr(0, 14), "window_seconds");
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
