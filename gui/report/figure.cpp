// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/report/figure.hpp"

#include <cmath>

#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

std::string number(double value) { return decimal(value, 1); }

std::string path_of(const std::vector<Point>& points) {
  std::string path;
  bool pen_down = false;
  for (const Point& point : points) {
    if (!std::isfinite(point.x) || !std::isfinite(point.y)) {
      pen_down = false;
      continue;
    }
    path += (pen_down ? "L" : "M") + number(point.x) + " " + number(point.y);
    pen_down = true;
  }
  return path;
}

std::string painted(const std::string& paint, Ink ink) { return paint.empty() ? colour(ink) : paint; }

std::string stroke(const std::string& path, const std::string& paint, double thickness, bool dashed, std::string_view kind) {
  return "<path" + (kind.empty() ? std::string{} : " class=\"" + std::string{kind} + "\"") + " fill=\"none\" stroke=\"" + paint +
         "\" stroke-width=\"" + number(thickness) + "\"" + (dashed ? " stroke-dasharray=\"7 3\"" : "") + " d=\"" + path +
         "\"/>\n";
}

struct SvgWriter {
  std::string text;
  void operator()(const FigureLine& line) {
    text += stroke(path_of(line.points), painted(line.paint, line.ink), line.thickness, line.dashed, line.kind);
  }
  void operator()(const FigureBox& box) {
    text += "<rect fill=\"" + painted(box.paint, box.ink) + "\" fill-opacity=\"" + decimal(box.opacity, 2) + "\" x=\"" +
            number(box.x) + "\" y=\"" + number(box.y) + "\" width=\"" + number(box.width) + "\" height=\"" + number(box.height) +
            "\"/>\n";
  }
  void operator()(const FigureWords& words) {
    const char* anchor = words.anchor == Anchor::start ? "start" : words.anchor == Anchor::middle ? "middle" : "end";
    text += "<text x=\"" + number(words.x) + "\" y=\"" + number(words.y) + "\" text-anchor=\"" + anchor + "\" fill=\"" +
            painted(words.paint, words.ink) + "\"" +
            (words.size == kFigureFontSize ? "" : " font-size=\"" + number(words.size) + "\"") +
            (words.bold ? " font-weight=\"bold\"" : "") + ">" + escaped(words.text) + "</text>\n";
  }
  void operator()(const FigureDot& dot) {
    const auto at = [&](double dx, double dy) { return number(dot.x + dx) + " " + number(dot.y + dy); };
    const auto circle = [&](double radius, const char* style) {
      text += "<circle cx=\"" + number(dot.x) + "\" cy=\"" + number(dot.y) + "\" r=\"" + number(radius) + "\" " + style + "/>\n";
    };
    if (dot.verdict == "pass")
      circle(3.5, "fill=\"#1E2329\"");
    else if (dot.verdict == "fail")
      text += stroke("M" + at(-5, -5) + "L" + at(5, 5) + "M" + at(-5, 5) + "L" + at(5, -5), colour(Ink::danger), 2.2, false, "");
    else if (dot.verdict == "void")
      text +=
          stroke("M" + at(-4, -4) + "L" + at(4, -4) + "L" + at(4, 4) + "L" + at(-4, 4) + "Z", colour(Ink::ink), 1.4, false, "");
    else
      text += stroke("M" + at(-4, 0) + "L" + at(4, 0), colour(Ink::muted), 2.0, false, "");
    if (dot.flagged) circle(8.0, "fill=\"none\" stroke=\"#B3231B\" stroke-width=\"1.4\"");
  }
};

}  // namespace

const char* colour(Ink ink) {
  switch (ink) {
    case Ink::muted:
      return "#565C66";
    case Ink::grid:
      return "#CFCBC2";
    case Ink::limit:
      return "#1D5DB8";
    case Ink::danger:
      return "#B3231B";
    case Ink::force:
      return "#0072B2";
    case Ink::supply:
      return "#A86E00";
    case Ink::chamber:
      return "#2A83B8";
    case Ink::acceleration:
      return "#A8457F";
    case Ink::lost:
      return "#646B76";
    case Ink::saturated:
      return "#F3C300";
    case Ink::ink:
      break;
  }
  return "#1E2329";
}

void Figure::line(double x1, double y1, double x2, double y2, Ink ink, double thickness, bool dashed, const char* kind) {
  parts.emplace_back(FigureLine{{{x1, y1}, {x2, y2}}, ink, thickness, dashed, kind});
}

void Figure::words(double x, double y, std::string text, Anchor anchor, bool bold, Ink ink) {
  parts.emplace_back(FigureWords{x, y, std::move(text), anchor, bold, ink});
}

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        // Control characters are not allowed in HTML; a board's log line may hold some.
        if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t')
          out += c;
        else
          out += "\uFFFD";
    }
  }
  return out;
}

std::string figure_svg(const Figure& figure) {
  SvgWriter writer;
  for (const FigurePart& part : figure.parts) std::visit(writer, part);
  return "<svg role=\"img\" aria-label=\"" + escaped(figure.label) + "\" viewBox=\"0 0 " + number(figure.width) + " " +
         number(figure.height) + "\" font-size=\"" + decimal(kFigureFontSize, 0) +
         "\" font-family=\"DejaVu Sans,sans-serif\" xmlns=\"http://www.w3.org/2000/svg\">\n" + writer.text + "</svg>\n";
}

}  // namespace coldstroke::gui
