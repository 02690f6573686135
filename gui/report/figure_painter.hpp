// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QColor>
#include <QFont>
#include <QPainter>
#include <functional>

#include "gui/report/figure.hpp"

namespace coldstroke::gui {

using FigureColour = std::function<QColor(Ink)>;
/// The colours of paper.
[[nodiscard]] QColor paper_colour(Ink ink);

/// Words are laid out so many times as large and drawn smaller, since a pixel size is a whole number.
inline constexpr double kWordScale = 20.0;
/// For words `size` units high once they are drawn smaller by kWordScale.
[[nodiscard]] QFont word_font(double size, bool bold);

/// Draws into the painter's present coordinates: scale and move it first. Vectors stay vectors.
void paint_figure(QPainter& painter, const Figure& figure, const FigureColour& colour_of = paper_colour);

}  // namespace coldstroke::gui
