// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/plot/plot_frame.hpp"

#include <gtest/gtest.h>

#include <QImage>

namespace coldstroke::gui {
namespace {

int along_column(const QImage& image, int x, const QRectF& area, const QColor& colour) {
  int found = 0;
  for (int y = static_cast<int>(area.top()) + 1; y < static_cast<int>(area.bottom()); ++y)
    found += image.pixelColor(x, y) == colour ? 1 : 0;
  return found;
}

// A grid beside its trace tells wrong values: every line must stand where the value stands, at the very first drawing too,
// for rows of any size.
TEST(PlotFrame, PutsEveryGridLineWhereItsValueStands) {
  for (const double height : {30.0, 100.0, 400.0}) {
    PlotFrame frame;
    const Look& look = light_look();
    const std::vector<FrameRow> rows{{{-25.0, 350.0, 100.0}, {66.0, 24.0, 600.0, height}},
                                     {{0.0, 8.0, 2.0}, {66.0, 46.0 + height, 600.0, height}}};
    const QSize size{680, static_cast<int>(2.0 * height) + 80};
    const QImage image = frame.picture(size, 1.0, rows, {-10.0, 0.0, 1.0}, look).toImage();
    for (const FrameRow& row : rows) {
      for (double tick = 0.0; tick <= row.range.high; tick += row.range.step) {
        const int y = static_cast<int>(std::round(row.y(tick)));
        int found = 0;
        for (int x = 70; x < 660; ++x) found += image.pixelColor(x, y) == look.line ? 1 : 0;
        EXPECT_GT(found, 580) << "tick " << tick << ", height " << height;
      }
      for (int second = 1; second <= 9; ++second)
        EXPECT_GT(along_column(image, 66 + 60 * second, row.area, look.line), static_cast<int>(0.9 * height) - 3) << second;
    }
  }
}

TEST(PlotFrame, IsDrawnAnewOnlyWhenSomethingChanged) {
  PlotFrame frame;
  std::vector<FrameRow> rows{{{0.0, 1.0, 0.2}, {66.0, 24.0, 600.0, 100.0}}};
  const AxisRange time{-10.0, 0.0, 1.0};
  for (int k = 0; k < 5; ++k) frame.picture({680, 160}, 1.0, rows, time, light_look());
  EXPECT_EQ(frame.drawings(), 1);
  frame.picture({680, 160}, 1.0, rows, time, dark_look());
  rows[0].range.high = 2.0;
  frame.picture({680, 160}, 1.0, rows, time, dark_look());
  frame.picture({680, 160}, 1.5, rows, time, dark_look());
  EXPECT_EQ(frame.drawings(), 4);
}

}  // namespace
}  // namespace coldstroke::gui
