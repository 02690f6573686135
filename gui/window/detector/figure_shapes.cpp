// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/figure_shapes.hpp"
#include "gui/report/whole_file.hpp"

#include <QBuffer>
#include <QImage>
#include <algorithm>
#include <limits>

namespace coldstroke::gui {

namespace {

constexpr double kUnitsPerPoint = 4.0 / 3.0;  // a figure's unit is a pixel of a 96 dpi screen
constexpr double kHatchStep = 6.0;

/// Lines rising to the right, as one stroke with the pen lifted between them.
FigureLine hatching(const QRectF& box, const QColor& colour) {
  FigureLine out{{}, Ink::ink, 0.7, false, "", colour.name().toStdString()};
  constexpr double kLift = std::numeric_limits<double>::quiet_NaN();
  for (double along = kHatchStep; along < box.width() + box.height(); along += kHatchStep) {
    const double first = std::max(0.0, along - box.height()), last = std::min(along, box.width());
    out.points.push_back({box.left() + first, box.top() + along - first});
    out.points.push_back({box.left() + last, box.top() + along - last});
    out.points.push_back({kLift, kLift});
  }
  return out;
}

}  // namespace

FigureShape field_shape(const QRectF& box, const QColor& colour) {
  FigureShape out;
  out.box = box;
  out.colour = colour;
  return out;
}

FigureShape words_shape(const QRectF& box, const QString& text, const QColor& colour, int align, double points, bool bold) {
  FigureShape out = field_shape(box, colour);
  out.kind = FigureShape::Kind::words;
  out.words = text;
  out.align = align;
  out.points = points;
  out.bold = bold;
  return out;
}

FigureShape line_shape(const QPointF& from, const QPointF& to, const QColor& colour, double width, bool dashed) {
  FigureShape out = field_shape(QRectF{from, to}, colour);
  out.kind = FigureShape::Kind::line;
  out.width = width;
  out.dashed = dashed;
  return out;
}

QColor ink_on(const QColor& fill) { return qGray(fill.rgb()) > 128 ? QColor{0x11, 0x11, 0x11} : QColor{0xF5, 0xF5, 0xF5}; }

void paint(QPainter& painter, const std::vector<FigureShape>& shapes) {
  painter.setRenderHint(QPainter::Antialiasing, false);
  for (const FigureShape& shape : shapes) {
    switch (shape.kind) {
      case FigureShape::Kind::field:
        painter.fillRect(shape.box, shape.colour);
        if (shape.hatch) painter.fillRect(shape.box, QBrush{ink_on(shape.colour), Qt::BDiagPattern});
        break;
      case FigureShape::Kind::outline:
        painter.setPen(QPen{shape.colour, shape.width});
        painter.drawRect(shape.box);
        break;
      case FigureShape::Kind::line:
        painter.setPen(QPen{shape.colour, shape.width, shape.dashed ? Qt::DashLine : Qt::SolidLine});
        painter.drawLine(shape.box.topLeft(), shape.box.bottomRight());
        break;
      case FigureShape::Kind::words:
        painter.setPen(shape.colour);
        painter.setFont(type(shape.points, shape.bold));
        painter.drawText(shape.box, shape.align, shape.words);
        break;
    }
  }
}

Figure figure_of(const std::vector<FigureShape>& shapes, const QSizeF& size) {
  Figure out{size.width(), size.height(), {}, {}};
  for (const FigureShape& shape : shapes) {
    const QRectF& box = shape.box;
    const std::string paint = shape.colour.name().toStdString();
    switch (shape.kind) {
      case FigureShape::Kind::field:
        out.parts.emplace_back(FigureBox{box.x(), box.y(), box.width(), box.height(), Ink::ink, 1.0, paint});
        if (shape.hatch) out.parts.emplace_back(hatching(box, ink_on(shape.colour)));
        break;
      case FigureShape::Kind::outline:
        out.parts.emplace_back(FigureLine{{{box.left(), box.top()},
                                           {box.right(), box.top()},
                                           {box.right(), box.bottom()},
                                           {box.left(), box.bottom()},
                                           {box.left(), box.top()}},
                                          Ink::ink,
                                          shape.width,
                                          false,
                                          "",
                                          paint});
        break;
      case FigureShape::Kind::line:
        out.parts.emplace_back(
            FigureLine{{{box.left(), box.top()}, {box.right(), box.bottom()}}, Ink::ink, shape.width, shape.dashed, "", paint});
        break;
      case FigureShape::Kind::words: {
        const bool left = (shape.align & Qt::AlignLeft) != 0, right = (shape.align & Qt::AlignRight) != 0;
        const std::string words = shape.words.toStdString();
        if (out.label.empty() && words.size() > 1) out.label = words;
        out.parts.emplace_back(FigureWords{left    ? box.left()
                                           : right ? box.right()
                                                   : box.center().x(),
                                           box.center().y() + shape.points * 0.45, words,
                                           left    ? Anchor::start
                                           : right ? Anchor::end
                                                   : Anchor::middle,
                                           shape.bold, Ink::ink, shape.points * kUnitsPerPoint, paint});
        break;
      }
    }
  }
  return out;
}

Result<void> write_figure(const std::filesystem::path& file, const std::vector<FigureShape>& shapes, const QSizeF& size) {
  if (file.extension() == ".svg") return write_whole(file, figure_svg(figure_of(shapes, size)));
  if (file.extension() != ".png")
    return complain("a figure is a .png or a .svg file", file.string(), "give the name one of these endings");
  QImage image{size.toSize(), QImage::Format_RGB32};
  QPainter painter{&image};
  paint(painter, shapes);
  painter.end();
  QByteArray bytes;
  QBuffer buffer{&bytes};
  buffer.open(QIODevice::WriteOnly);
  if (!image.save(&buffer, "PNG")) return complain("the picture cannot be made", file.string(), "write a .svg instead");
  return write_whole(file, bytes.toStdString());
}

}  // namespace coldstroke::gui
