// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QColor>
#include <QPainter>
#include <functional>

#include "gui/report/figure.hpp"

namespace coldstroke::gui {

using FigureColour = std::function<QColor(Ink)>;
/// The colours of paper.
[[nodiscard]] QColor paper_colour(Ink ink);

/// Draws into the painter's present coordinates: scale and move it first. Vectors stay vectors.
void paint_figure(QPainter& painter, const Figure& figure, const FigureColour& colour_of = paper_colour);

}  // namespace coldstroke::gui
