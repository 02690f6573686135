// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/plot/live_traces.hpp"

#include <gtest/gtest.h>

#include "gui/window/look.hpp"
#include "tests/gui/invented_bench.hpp"

namespace coldstroke::gui {
namespace {

int pixels(const QImage& image, const QRectF& area, const QColor& colour) {
  int found = 0;
  const QRect field = area.toAlignedRect() & image.rect();
  for (int y = field.top(); y <= field.bottom(); ++y)
    for (int x = field.left(); x <= field.right(); ++x) found += image.pixelColor(x, y) == colour ? 1 : 0;
  return found;
}

class LiveTracesTest : public testing::Test {
 protected:
  LiveTracesTest() {
    traces.setPalette(light_look().palette());
    traces.resize(760, 520);
    traces.setHistories([this](std::size_t channel) -> std::shared_ptr<const daq::History> {
      return channel < histories.size() ? histories[channel] : nullptr;
    });
    traces.LiveTraces::show(invented_view());
    traces.QWidget::show();
    traces.advance();
  }
  QImage picture() { return traces.grab().toImage(); }
  std::vector<std::shared_ptr<daq::History>> histories = invented_histories();
  LiveTraces traces;
};

TEST_F(LiveTracesTest, DrawsEveryChannelInItsOwnRowAndColour) {
  const QImage image = picture();
  ASSERT_EQ(traces.rowCount(), 4U);
  const analysis::Role roles[] = {analysis::Role::force, analysis::Role::supply_pressure, analysis::Role::chamber_pressure,
                                  analysis::Role::vehicle_acceleration};
  for (std::size_t row = 0; row < 4; ++row)
    EXPECT_GT(pixels(image, traces.rowArea(row), light_look().trace(roles[row])), 600) << "row " << row;
}

TEST_F(LiveTracesTest, LinesUpAllRows) {
  for (std::size_t row = 1; row < 4; ++row) {
    EXPECT_EQ(traces.rowArea(row).left(), traces.rowArea(0).left());
    EXPECT_EQ(traces.rowArea(row).right(), traces.rowArea(0).right());
    EXPECT_GT(traces.rowArea(row).top(), traces.rowArea(row - 1).bottom());
  }
}

TEST_F(LiveTracesTest, DrawsASpikeOfASingleSampleToItsFullHeight) {
  picture();
  std::vector<double> samples(5000, 0.0);
  samples[2500] = 390.0;  // newtons; the axis already reaches 400 because of the ejection
  histories[0]->append(101000, 110.0, samples);
  traces.advance();
  const QImage image = picture();
  const QRectF area = traces.rowArea(0);
  const double x = area.right() - area.width() * 0.25 / 10.0;
  const QRectF top{x - 3.0, area.top(), 7.0, area.height() * 0.15};
  EXPECT_GT(pixels(image, top, light_look().force), 4);
}

TEST_F(LiveTracesTest, DrawsItsAxesOnceWhileDataFlows) {
  picture();
  const int before = traces.axisDrawings();
  for (std::uint64_t k = 0; k < 50; ++k) {
    histories[0]->append(101000 + 100 * k, 110.0 + 0.01 * static_cast<double>(k), std::vector<double>(100, 0.3));
    traces.advance();
    picture();
  }
  EXPECT_EQ(traces.axisDrawings(), before);
}

TEST_F(LiveTracesTest, FollowsABoardThatStartsItsClockAnew) {
  picture();
  for (const auto& history : histories) {
    history->clear();
    history->append(0, 0.5, std::vector<double>(static_cast<std::size_t>(2.0 / history->period_seconds()), 1.0));
  }
  traces.advance();
  const QImage image = picture();
  // Two seconds up to now, nothing before, and no hatch over them.
  for (std::size_t row = 0; row < 4; ++row) {
    const QRectF area = traces.rowArea(row);
    const QColor colour = light_look().trace(row == 0   ? analysis::Role::force
                                             : row == 1 ? analysis::Role::supply_pressure
                                             : row == 2 ? analysis::Role::chamber_pressure
                                                        : analysis::Role::vehicle_acceleration);
    EXPECT_GT(
        pixels(image, QRectF{area.right() - 0.18 * area.width(), area.top(), 0.17 * area.width(), area.height() + 2.0}, colour),
        50)
        << row;
    EXPECT_EQ(pixels(image, QRectF{area.left() + 20.0, area.top(), 0.7 * area.width(), area.height()}, colour), 0) << row;
  }
}

TEST_F(LiveTracesTest, ShowsBothBoardsTogetherWhateverTheirClocksRead) {
  // The flight board was switched on 80 s after the rig board, and its clock says so.
  auto late = std::make_shared<daq::History>(20'000, 5.0e-4);
  late->append(0, 20.0, std::vector<double>(20'000, 9.80665));
  histories[3] = late;
  traces.advance();
  const QImage image = picture();
  EXPECT_GT(pixels(image, traces.rowArea(3), light_look().acceleration), 500);
  EXPECT_GT(pixels(image, traces.rowArea(0), light_look().force), 500);
}

TEST_F(LiveTracesTest, IsHarmlessWithoutChannelsOrHistories) {
  LiveTraces none;
  none.advance();
  none.grab();
  none.LiveTraces::show(invented_view());
  none.advance();
  EXPECT_FALSE(none.grab().isNull());
}

}  // namespace
}  // namespace coldstroke::gui
