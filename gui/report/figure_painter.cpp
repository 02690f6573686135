// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/figure_painter.hpp"

#include <QFontMetricsF>
#include <QPolygonF>
#include <cmath>

namespace coldstroke::gui {
namespace {

class Brush {
 public:
  Brush(QPainter& painter, const FigureColour& colour_of) : painter_{painter}, colour_of_{colour_of} {}

  void operator()(const FigureLine& line) {
    QPen pen{colour(line.paint, line.ink), line.thickness};
    if (line.dashed) pen.setDashPattern({5.0, 3.0});
    pen.setJoinStyle(Qt::RoundJoin);
    painter_.setPen(pen);
    QPolygonF points;
    const auto flush = [&] {
      if (points.size() > 1) painter_.drawPolyline(points);
      points.clear();
    };
    for (const Point& point : line.points) {
      if (std::isfinite(point.x) && std::isfinite(point.y))
        points << QPointF{point.x, point.y};
      else
        flush();
    }
    flush();
  }
  void operator()(const FigureBox& box) {
    QColor fill = colour(box.paint, box.ink);
    fill.setAlphaF(static_cast<float>(box.opacity));
    painter_.fillRect(QRectF{box.x, box.y, box.width, box.height}, fill);
  }
  void operator()(const FigureWords& words) {
    const QFont font = word_font(words.size, words.bold);
    const QString line = QString::fromStdString(words.text);
    const double wide = QFontMetricsF{font}.horizontalAdvance(line) / kWordScale;
    const double back = words.anchor == Anchor::start ? 0.0 : words.anchor == Anchor::middle ? 0.5 * wide : wide;
    painter_.save();
    painter_.translate(words.x - back, words.y);
    painter_.scale(1.0 / kWordScale, 1.0 / kWordScale);
    painter_.setFont(font);
    painter_.setPen(colour(words.paint, words.ink));
    painter_.drawText(QPointF{0, 0}, line);
    painter_.restore();
  }
  void operator()(const FigureDot& dot) {
    const QPointF at{dot.x, dot.y};
    painter_.setBrush(Qt::NoBrush);
    if (dot.verdict == "pass") {
      painter_.setPen(Qt::NoPen);
      painter_.setBrush(colour_of_(Ink::ink));
      painter_.drawEllipse(at, 3.5, 3.5);
    } else if (dot.verdict == "fail") {
      painter_.setPen(QPen{colour_of_(Ink::danger), 2.2});
      painter_.drawLine(at + QPointF{-5, -5}, at + QPointF{5, 5});
      painter_.drawLine(at + QPointF{-5, 5}, at + QPointF{5, -5});
    } else if (dot.verdict == "void") {
      painter_.setPen(QPen{colour_of_(Ink::ink), 1.4});
      painter_.drawRect(QRectF{dot.x - 4.0, dot.y - 4.0, 8.0, 8.0});
    } else {
      painter_.setPen(QPen{colour_of_(Ink::muted), 2.0});
      painter_.drawLine(at + QPointF{-4, 0}, at + QPointF{4, 0});
    }
    if (!dot.flagged) return;
    painter_.setBrush(Qt::NoBrush);
    painter_.setPen(QPen{colour_of_(Ink::danger), 1.4});
    painter_.drawEllipse(at, 8.0, 8.0);
  }

 private:
  [[nodiscard]] QColor colour(const std::string& paint, Ink ink) const {
    return paint.empty() ? colour_of_(ink) : QColor{QString::fromStdString(paint)};
  }

  QPainter& painter_;
  const FigureColour& colour_of_;
};

}  // namespace

QFont word_font(double size, bool bold) {
  QFont font{"DejaVu Sans"};
  font.setPixelSize(static_cast<int>(std::lround(size * kWordScale)));
  font.setBold(bold);
  font.setHintingPreference(QFont::PreferNoHinting);
  return font;
}

QColor paper_colour(Ink ink) { return QColor{colour(ink)}; }

void paint_figure(QPainter& painter, const Figure& figure, const FigureColour& colour_of) {
  Brush brush{painter, colour_of};
  for (const FigurePart& part : figure.parts) std::visit(brush, part);
}

}  // namespace coldstroke::gui
