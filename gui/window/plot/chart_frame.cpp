// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/plot/chart_frame.hpp"

#include <QChart>
#include <QGraphicsLayout>
#include <QGraphicsScene>
#include <QValueAxis>

namespace coldstroke::gui {
namespace {

void set_axis(QValueAxis& axis, const AxisRange& range, const Look& look) {
  axis.setTickType(QValueAxis::TicksDynamic);
  axis.setTickAnchor(0.0);
  axis.setTickInterval(range.step);
  axis.setRange(range.low, range.high);
  axis.setLabelFormat(QStringLiteral("%.%1f").arg(range.decimals()));
  axis.setLabelsFont(type(kBodyPt));
  axis.setLabelsColor(look.muted);
  QPen grid{look.line, 1.0};
  grid.setCosmetic(true);
  axis.setGridLinePen(grid);
  axis.setLinePen(grid);
}

}  // namespace

ChartFrame::ChartFrame()
    : scene_{std::make_unique<QGraphicsScene>()}, chart_{new QChart}, x_{new QValueAxis}, y_{new QValueAxis} {
  scene_->addItem(chart_);
  chart_->setBackgroundVisible(false);
  chart_->setMargins({});
  chart_->layout()->setContentsMargins(0, 0, 0, 0);
  chart_->legend()->hide();
  chart_->setAnimationOptions(QChart::NoAnimation);
  chart_->addAxis(x_, Qt::AlignBottom);
  chart_->addAxis(y_, Qt::AlignLeft);
  y_->setTruncateLabels(false);
  x_->setTruncateLabels(false);
}

ChartFrame::~ChartFrame() = default;

const QPixmap& ChartFrame::picture(const QSize& size, double pixel_ratio, const std::vector<FrameRow>& rows,
                                   const AxisRange& time, const Look& look) {
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
  for (std::size_t k = 0; k < rows.size(); ++k) draw_row(painter, rows[k], time, k + 1 == rows.size(), look);
  ++drawings_;
  return picture_;
}

void ChartFrame::draw_row(QPainter& painter, const FrameRow& row, const AxisRange& time, bool last, const Look& look) {
  set_axis(*x_, time, look);
  set_axis(*y_, row.range, look);
  x_->setLabelsVisible(last);
  const QSizeF whole{row.area.right() + kPlotRight, row.area.height() + kPlotBottom + 16.0};
  chart_->resize(whole);
  chart_->layout()->activate();  // else the first layout after a resize overrules the plot area
  // All charts of a stack get the same left and right edge, else labels of different width shift them against each other.
  chart_->setPlotArea(QRectF{row.area.left(), 8.0, row.area.width(), row.area.height()});
  chart_->layout()->activate();
  const QRectF source{0.0, 0.0, whole.width(), whole.height()};
  scene_->setSceneRect(source);
  scene_->render(&painter, QRectF{0.0, row.area.top() - 8.0, whole.width(), whole.height()}, source);
}

}  // namespace coldstroke::gui
