// SPDX-License-Identifier: GPL-3.0-or-later
//
// A drawing as lines, boxes, dots and words: once thought out, drawn as SVG and on paper alike. No Qt.
#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace coldstroke::gui {

/// What a stroke stands for; the colour follows from it.
enum class Ink { ink, muted, grid, limit, danger, force, supply, chamber, acceleration, lost, saturated };
[[nodiscard]] const char* colour(Ink ink);  ///< "#0072B2"

struct Point {
  double x = 0.0, y = 0.0;
};

/// All in the figure's units, y downwards.
struct FigureLine {
  std::vector<Point> points;  ///< a NaN lifts the pen
  Ink ink = Ink::ink;
  double thickness = 1.0;
  bool dashed = false;
  const char* kind = "";  ///< class in the SVG: "trace", "grid", "mark"
  std::string paint{};    ///< "#RRGGBB" in place of the ink's colour
};
struct FigureBox {
  double x = 0.0, y = 0.0, width = 0.0, height = 0.0;
  Ink ink = Ink::grid;
  double opacity = 1.0;
  std::string paint{};
};
inline constexpr double kFigureFontSize = 12.0;  ///< in the figure's units
enum class Anchor { start, middle, end };
struct FigureWords {
  double x = 0.0, y = 0.0;  ///< on the baseline
  std::string text;
  Anchor anchor = Anchor::start;
  bool bold = false;
  Ink ink = Ink::ink;
  double size = kFigureFontSize;
  std::string paint{};
};
/// A trial as a mark: its shape says the verdict.
struct FigureDot {
  double x = 0.0, y = 0.0;
  std::string verdict;   ///< "pass" a disc, "fail" a cross, "void" a square, anything else a dash
  bool flagged = false;  ///< a ring around it: looked at, never removed
};
using FigurePart = std::variant<FigureLine, FigureBox, FigureWords, FigureDot>;

struct Figure {
  double width = 1000.0, height = 300.0;
  std::string label;  ///< for a reader who cannot see it
  std::vector<FigurePart> parts;
  void line(double x1, double y1, double x2, double y2, Ink ink, double thickness = 1.0, bool dashed = false,
            const char* kind = "");
  void words(double x, double y, std::string text, Anchor anchor = Anchor::start, bool bold = false, Ink ink = Ink::ink);
};

/// Text safe inside HTML and SVG, attributes included.
[[nodiscard]] std::string escaped(std::string_view text);

/// One <svg> element that needs no style sheet.
[[nodiscard]] std::string figure_svg(const Figure& figure);

}  // namespace coldstroke::gui
