// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/figure_shapes.hpp"

#include <QImage>
#include <fstream>
#include <sstream>

namespace coldstroke::gui {

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

std::string svg(const std::vector<FigureShape>& shapes, const QSizeF& size, const Look& look) {
  std::ostringstream out;
  out << "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"" << size.width() << "\" height=\"" << size.height()
      << "\" viewBox=\"0 0 " << size.width() << ' ' << size.height() << "\" font-family=\"DejaVu Sans, sans-serif\">\n"
      << "<defs><pattern id=\"hatch\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\"><path d=\"M0,6 L6,0\" stroke=\""
      << look.ink.name().toStdString() << "\" stroke-width=\"1\"/></pattern></defs>\n";
  for (const FigureShape& s : shapes) {
    const std::string colour = s.colour.name().toStdString();
    const auto rect = [&](const std::string& fill, const std::string& more) {
      out << "<rect x=\"" << s.box.x() << "\" y=\"" << s.box.y() << "\" width=\"" << s.box.width() << "\" height=\""
          << s.box.height() << "\" fill=\"" << fill << "\"" << more << "/>\n";
    };
    if (s.kind == FigureShape::Kind::field) rect(colour, "");
    if (s.kind == FigureShape::Kind::field && s.hatch) rect("url(#hatch)", "");
    if (s.kind == FigureShape::Kind::outline)
      rect("none", " stroke=\"" + colour + "\" stroke-width=\"" + std::to_string(s.width) + "\"");
    if (s.kind == FigureShape::Kind::line)
      out << "<line x1=\"" << s.box.left() << "\" y1=\"" << s.box.top() << "\" x2=\"" << s.box.right() << "\" y2=\""
          << s.box.bottom() << "\" stroke=\"" << colour << "\" stroke-width=\"" << s.width
          << (s.dashed ? "\" stroke-dasharray=\"5 3" : "") << "\"/>\n";
    if (s.kind != FigureShape::Kind::words) continue;
    const bool left = (s.align & Qt::AlignLeft) != 0, right = (s.align & Qt::AlignRight) != 0;
    out << "<text x=\""
        << (left    ? s.box.left()
            : right ? s.box.right()
                    : s.box.center().x())
        << "\" y=\"" << s.box.center().y() + s.points * 0.45 << "\" text-anchor=\""
        << (left    ? "start"
            : right ? "end"
                    : "middle")
        << "\" font-size=\"" << s.points * 4.0 / 3.0 << "\" fill=\"" << colour << "\"" << (s.bold ? " font-weight=\"bold\"" : "")
        << ">" << s.words.toHtmlEscaped().toStdString() << "</text>\n";
  }
  out << "</svg>\n";
  return out.str();
}

Result<void> write_text(const std::filesystem::path& file, const std::string& text) {
  std::ofstream out{file, std::ios::binary};
  out << text;
  if (!out.flush()) return complain("the file cannot be written", file.string(), "choose another place or free some room");
  return {};
}

Result<void> write_figure(const std::filesystem::path& file, const std::vector<FigureShape>& shapes, const QSizeF& size,
                          const Look& look) {
  if (file.extension() == ".svg") return write_text(file, svg(shapes, size, look));
  if (file.extension() != ".png")
    return complain("a figure is a .png or a .svg file", file.string(), "give the name one of these endings");
  QImage image{size.toSize(), QImage::Format_RGB32};
  QPainter painter{&image};
  paint(painter, shapes);
  painter.end();
  if (!image.save(QString::fromStdString(file.string()), "PNG"))
    return complain("the picture cannot be written", file.string(), "choose another place or free some room");
  return {};
}

}  // namespace coldstroke::gui
