// SPDX-License-Identifier: GPL-3.0-or-later
//
// A figure as shapes: thought out once, then painted in the window, into a PNG, or written as SVG.
#pragma once

#include <QColor>
#include <QPainter>
#include <QRectF>
#include <QString>
#include <filesystem>
#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "gui/report/figure.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

struct FigureShape {
  enum class Kind { field, outline, line, words };
  Kind kind = Kind::field;
  QRectF box;  ///< line: from top left to bottom right corner; words: placed inside
  QColor colour;
  bool hatch = false;  ///< field: with diagonal lines
  double width = 1.0;
  bool dashed = false;
  QString words;
  double points = 9.5;
  bool bold = false;
  int align = Qt::AlignCenter;
};

[[nodiscard]] FigureShape field_shape(const QRectF& box, const QColor& colour);
[[nodiscard]] FigureShape words_shape(const QRectF& box, const QString& text, const QColor& colour, int align = Qt::AlignCenter,
                                      double points = kBodyPt, bool bold = false);
[[nodiscard]] FigureShape line_shape(const QPointF& from, const QPointF& to, const QColor& colour, double width,
                                     bool dashed = false);
/// What can be read on this fill. By luma, as the eye weighs colours: yellow is bright.
[[nodiscard]] QColor ink_on(const QColor& fill);

void paint(QPainter& painter, const std::vector<FigureShape>& shapes);
/// As lines, boxes and words for SVG and paper; the first words are its label.
[[nodiscard]] Figure figure_of(const std::vector<FigureShape>& shapes, const QSizeF& size);
/// By the file's ending, .svg or .png. Letters need a QGuiApplication for a PNG.
[[nodiscard]] Result<void> write_figure(const std::filesystem::path& file, const std::vector<FigureShape>& shapes,
                                        const QSizeF& size);

}  // namespace coldstroke::gui
