// SPDX-License-Identifier: GPL-3.0-or-later
//
// An operating map as shapes: thought out once, then painted in the window, into a PNG, or written as SVG.
#pragma once

#include <QRectF>
#include <QString>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "analysis/detector/robust_region.hpp"
#include "gui/window/detector/figure_shapes.hpp"

namespace coldstroke::gui {

struct MapFigure {
  analysis::OperatingMap map;
  std::optional<analysis::RobustRegion> region;
  QString title;                               ///< what library, how many recordings
  std::optional<analysis::MapPlace> present;   ///< nearest cell of the setting in force
  std::optional<analysis::MapPlace> proposed;  ///< of the proposal
  QString level_unit = "g";                    ///< of the level margin; velocity gain: m/s
};

/// Letter of an outcome, so that no colour is needed: A always in time, S sometimes, M misses, L late, F false.
[[nodiscard]] QChar letter_of(analysis::CellOutcome outcome);
[[nodiscard]] QString words_of(analysis::CellOutcome outcome);
[[nodiscard]] QColor colour_of(analysis::CellOutcome outcome, const Look& look);

/// Where the cells lie inside a figure of this size, columns to the right, rows upwards.
[[nodiscard]] QRectF map_field(const QSizeF& size);
/// The cell under a point of the figure.
[[nodiscard]] std::optional<analysis::MapPlace> place_at(const MapFigure& figure, const QSizeF& size, const QPointF& point);
/// Cell nearest to two parameter values; nothing outside the map by more than half a step.
[[nodiscard]] std::optional<analysis::MapPlace> nearest_place(const analysis::OperatingMap& map, double row_value,
                                                              double column_value);

/// Of a map just computed: the robust region and its core, the present setting, the unit of the level margin.
void complete_figure(MapFigure& figure, const analysis::DetectorSpec& spec);
[[nodiscard]] QString parameter_words(analysis::MapParameter parameter);
/// "window, ms 20; threshold net of rest, g 4"
[[nodiscard]] QString place_words(const MapFigure& figure, analysis::MapPlace place);

[[nodiscard]] std::vector<FigureShape> map_shapes(const MapFigure& figure, const QSizeF& size, const Look& look);
/// One line a cell: both values, outcome, counts, latency and margins.
[[nodiscard]] std::string map_csv(const analysis::OperatingMap& map);
[[nodiscard]] std::string map_json(const MapFigure& figure);
/// What became of a library under one setting: outcome, counts, margins.
[[nodiscard]] nlohmann::ordered_json cell_json(const analysis::MapCell& cell);
/// "From window 20 ms and threshold 4 g: window 12 to 34 ms ..." in one sentence.
[[nodiscard]] QString region_sentence(const MapFigure& figure);

/// As a picture (.png, .svg) or a table (.csv, .json), by the name's ending.
[[nodiscard]] Result<void> write_map(const std::filesystem::path& file, const MapFigure& figure);

}  // namespace coldstroke::gui
