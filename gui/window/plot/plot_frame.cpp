// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/plot/plot_frame.hpp"

#include <cmath>

namespace coldstroke::gui {
namespace {

// Multiples of the step inside the range, its ends included.
std::vector<double> ticks(const AxisRange& range) {
  std::vector<double> all;
  const double first = std::ceil(range.low / range.step - 1.0e-9), last = std::floor(range.high / range.step + 1.0e-9);
  for (double k = first; k <= last; k += 1.0) all.push_back(k * range.step);
  return all;
}

QString label(double tick, const AxisRange& range) {
  const QString words = QString::number(tick, 'f', range.decimals());
  return words.startsWith('-') && words.toDouble() == 0.0 ? words.mid(1) : words;
}

void draw_row(QPainter& painter, const FrameRow& row, const AxisRange& time, const Look& look) {
  const QFontMetricsF metrics{painter.font()};
  painter.setPen(QPen{look.line, 1.0});
  for (const double tick : ticks(time)) {
    const double x = std::round(row.area.left() + row.area.width() * (tick - time.low) / (time.high - time.low));
    painter.drawLine(QPointF{x, row.area.top()}, QPointF{x, row.area.bottom()});
  }
  double free_below = 1.0e9;  // labels of a low plot would overlap: leave out those without room
  for (const double tick : ticks(row.range)) {
    const double y = std::round(row.y(tick));
    painter.setPen(QPen{look.line, 1.0});
    painter.drawLine(QPointF{row.area.left() - 4.0, y}, QPointF{row.area.right(), y});
    if (y + 0.5 * metrics.height() > free_below) continue;
    free_below = y - 0.5 * metrics.height();
    painter.setPen(look.muted);
    painter.drawText(QRectF{0.0, y - 10.0, row.area.left() - 7.0, 20.0}, Qt::AlignRight | Qt::AlignVCenter,
                     label(tick, row.range));
  }
  painter.setPen(QPen{look.muted, 1.0});
  painter.drawLine(row.area.topLeft(), row.area.bottomLeft());
}

void draw_time_labels(QPainter& painter, const QRectF& area, const AxisRange& time, const Look& look) {
  const QFontMetricsF metrics{painter.font()};
  painter.setPen(look.muted);
  double free_from = -1.0e9;
  for (const double tick : ticks(time)) {
    const QString words = label(tick, time);
    const double x = area.left() + area.width() * (tick - time.low) / (time.high - time.low);
    const double half = 0.5 * metrics.horizontalAdvance(words);
    if (x - half < free_from) continue;
    free_from = x + half + 6.0;
    painter.drawText(QRectF{x - half - 2.0, area.bottom() + 4.0, 2.0 * half + 4.0, 18.0}, Qt::AlignCenter, words);
  }
}

}  // namespace

const QPixmap& PlotFrame::picture(const QSize& size, double pixel_ratio, const std::vector<FrameRow>& rows, const AxisRange& time,
                                  const Look& look) {
  if (size == size_ && pixel_ratio == pixel_ratio_ && rows == rows_ && time == time_ && look_ == &look) return picture_;
  size_ = size;
  pixel_ratio_ = pixel_ratio;
  rows_ = rows;
  time_ = time;
  look_ = &look;
  picture_ = QPixmap{size * pixel_ratio};
  picture_.setDevicePixelRatio(pixel_ratio);
  picture_.fill(look.sheet);
  QPainter painter{&picture_};
  painter.setFont(type(kBodyPt));
  for (const FrameRow& row : rows) draw_row(painter, row, time, look);
  if (!rows.empty()) draw_time_labels(painter, rows.back().area, time, look);
  ++drawings_;
  return picture_;
}

}  // namespace coldstroke::gui
