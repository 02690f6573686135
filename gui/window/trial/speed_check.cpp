// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/trial/speed_check.hpp"

#include <QPainter>
#include <algorithm>
#include <array>
#include <utility>

#include "gui/report/figures.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {
constexpr int kLine = 19;
}

SpeedCheck::SpeedCheck(QWidget* parent) : QWidget{parent} {
  setObjectName("speed_check");
  setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Fixed);
  setToolTip(
      tr("Exit speed got in independent ways, with 95 % intervals. Intervals that do not meet point at calibration, mass, "
         "friction or alignment."));
}

void SpeedCheck::show(const analysis::TrialResult& result) {
  const std::array<std::pair<const char*, QString>, 4> ways{{{"exit_speed_from_force_mps", tr("from force")},
                                                             {"exit_speed_from_acceleration_mps", tr("from acceleration")},
                                                             {"exit_speed_from_stroke_mps", tr("from stroke")},
                                                             {"exit_speed_from_free_fall_mps", tr("from free fall")}}};
  lines_.clear();
  QStringList spoken;
  for (const auto& [name, way] : ways) {
    const analysis::Metric* metric = result.metric(name);
    if (metric == nullptr || metric->measured() == nullptr) continue;
    const analysis::Measured& speed = *metric->measured();
    lines_.push_back({way, text(with_uncertainty(speed.value, 0.5 * (speed.high_95 - speed.low_95))), speed.low_95, speed.value,
                      speed.high_95});
  }
  for (const Line& line : lines_) spoken << line.name + " " + line.value;
  setAccessibleDescription(spoken.join("; "));
  setVisible(lines_.size() >= 2);  // one speed alone checks nothing
  updateGeometry();
  update();
}

QSize SpeedCheck::sizeHint() const { return {300, kLine * static_cast<int>(lines_.size() + 1) + 4}; }

void SpeedCheck::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  painter.setPen(look.muted);
  painter.drawText(QRect{0, 0, width(), kLine}, Qt::AlignLeft | Qt::AlignVCenter, tr("exit speed, m/s"));
  double low = 1.0e300, high = -1.0e300;
  for (const Line& line : lines_) {
    low = std::min(low, line.low);
    high = std::max(high, line.high);
  }
  const double room = std::max(1.0e-6, 0.1 * (high - low));
  const double left = 132.0, right = width() - 122.0;
  const auto x = [&](double speed) { return left + (right - left) * (speed - low + room) / (high - low + 2.0 * room); };
  int top = kLine;
  for (const Line& line : lines_) {
    const double middle = top + 0.5 * kLine;
    painter.setPen(look.ink);
    painter.drawText(QRect{0, top, static_cast<int>(left) - 8, kLine}, Qt::AlignLeft | Qt::AlignVCenter, line.name);
    painter.drawText(QRect{0, top, width() - 4, kLine}, Qt::AlignRight | Qt::AlignVCenter, line.value);
    painter.drawLine(QPointF{x(line.low), middle}, QPointF{x(line.high), middle});
    for (const double end : {line.low, line.high}) painter.drawLine(QPointF{x(end), middle - 4.0}, QPointF{x(end), middle + 4.0});
    painter.fillRect(QRectF{x(line.middle) - 3.0, middle - 3.0, 6.0, 6.0}, look.ink);
    top += kLine;
  }
}

}  // namespace coldstroke::gui
