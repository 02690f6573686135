// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/map_drawing.hpp"
#include "gui/report/whole_file.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>

#include "gui/window/detector/contours.hpp"

namespace coldstroke::gui {

using analysis::CellOutcome;
using analysis::MapAxis;
using analysis::MapCell;
using analysis::MapParameter;
using analysis::MapPlace;

namespace {

constexpr double kLeft = 78.0, kRight = 14.0, kTop = 56.0, kBottom = 74.0;
constexpr std::array kOutcomes{CellOutcome::always_in_time, CellOutcome::sometimes, CellOutcome::misses, CellOutcome::late,
                               CellOutcome::false_decisions};

/// Seconds are shown in milliseconds.
double shown(MapParameter parameter, double value) {
  return parameter == MapParameter::window_seconds || parameter == MapParameter::deadline_seconds ? value * 1000.0 : value;
}

QString axis_words(const MapAxis& axis, const QString& level_unit) {
  if (axis.parameter == MapParameter::threshold && level_unit != "g") return "speed gained, " + level_unit;
  return parameter_words(axis.parameter);
}

QString value_words(const MapAxis& axis, std::size_t index) {
  return QString::number(shown(axis.parameter, axis.values[index]), 'g', 4);
}

QRectF cell_box(const MapFigure& figure, const QRectF& field, MapPlace place) {
  const double w = field.width() / static_cast<double>(figure.map.columns.values.size());
  const double h = field.height() / static_cast<double>(figure.map.rows.values.size());
  return {field.left() + w * static_cast<double>(place.column), field.bottom() - h * static_cast<double>(place.row + 1), w, h};
}

void add_cells(const MapFigure& figure, const QRectF& field, const Look& look, std::vector<FigureShape>& out) {
  for (std::size_t row = 0; row < figure.map.rows.values.size(); ++row) {
    for (std::size_t column = 0; column < figure.map.columns.values.size(); ++column) {
      const MapCell& cell = figure.map.at(row, column);
      FigureShape shape;
      shape.box = cell_box(figure, field, {row, column});
      shape.colour = colour_of(cell.outcome, look);
      shape.hatch = cell.outcome == CellOutcome::false_decisions || cell.outcome == CellOutcome::late;
      out.push_back(shape);
      if (shape.box.width() >= 11.0 && shape.box.height() >= 11.0)
        out.push_back(words_shape(shape.box, QString{letter_of(cell.outcome)}, ink_on(shape.colour), Qt::AlignCenter, 7.0));
    }
  }
}

/// Edge of the robust region: lines where a cell of it meets one that is not.
void add_region(const MapFigure& figure, const QRectF& field, const Look& look, std::vector<FigureShape>& out) {
  if (!figure.region) return;
  const auto inside = [&](std::size_t row, std::size_t column) {
    return std::ranges::find(figure.region->cells, MapPlace{row, column}) != figure.region->cells.end();
  };
  for (const MapPlace place : figure.region->cells) {
    const QRectF box = cell_box(figure, field, place);
    if (place.column == 0 || !inside(place.row, place.column - 1))
      out.push_back(line_shape(box.topLeft(), box.bottomLeft(), look.ink, 2.5));
    if (!inside(place.row, place.column + 1)) out.push_back(line_shape(box.topRight(), box.bottomRight(), look.ink, 2.5));
    if (!inside(place.row + 1, place.column)) out.push_back(line_shape(box.topLeft(), box.topRight(), look.ink, 2.5));
    if (place.row == 0 || !inside(place.row - 1, place.column))
      out.push_back(line_shape(box.bottomLeft(), box.bottomRight(), look.ink, 2.5));
  }
}

/// Lines of equal latency of the slowest decision and of equal level margin, each with its value and a ground of its own.
void add_contours(const MapFigure& figure, const QRectF& field, std::vector<FigureShape>& out) {
  const double w = field.width() / static_cast<double>(figure.map.columns.values.size());
  const double h = field.height() / static_cast<double>(figure.map.rows.values.size());
  const auto place = [&](const QPointF& p) {
    return QPointF{field.left() + w * (p.x() + 0.5), field.bottom() - h * (p.y() + 0.5)};
  };
  std::vector<QRectF> taken;
  const auto draw = [&](const std::vector<Contour>& contours, double per_unit, const QString& unit, const QColor& colour,
                        const QColor& letters) {
    for (const Contour& contour : contours) {
      for (const QLineF& segment : contour.segments)
        out.push_back(line_shape(place(segment.p1()), place(segment.p2()), colour, 1.5));
    }
    for (const Contour& contour : contours) {
      for (const QLineF& segment : contour.segments) {  // its label: the first place that no other one has
        const QPointF at = place(segment.center());
        const QRectF box{at.x() - 22.0, at.y() - 7.0, 44.0, 14.0};
        if (!field.contains(box) ||
            std::ranges::any_of(taken, [&](const QRectF& other) { return other.intersects(box.adjusted(-3, -3, 3, 3)); }))
          continue;
        taken.push_back(box);
        out.push_back(field_shape(box, colour));
        out.push_back(
            words_shape(box, QString::number(contour.level * per_unit, 'g', 4) + ' ' + unit, letters, Qt::AlignCenter, 7.5));
        break;
      }
    }
  };
  const QColor dark{0x11, 0x11, 0x11}, light{0xF5, 0xF5, 0xF5};
  draw(contours_of(figure.map, [](const MapCell& cell) { return std::optional{cell.level_margin}; }), 1.0, figure.level_unit,
       light, dark);
  draw(contours_of(figure.map, [](const MapCell& cell) { return cell.latency_max_seconds; }), 1000.0, "ms", dark, light);
}

void add_mark(const MapFigure& figure, const QRectF& field, MapPlace place, const QString& name, const Look& look,
              std::vector<FigureShape>& out) {
  const QPointF at = cell_box(figure, field, place).center();
  FigureShape ground;
  ground.box = QRectF{at.x() - 34.0, at.y() - 9.0, 68.0, 18.0};
  ground.colour = look.sheet;
  out.push_back(ground);
  ground.kind = FigureShape::Kind::outline;
  ground.colour = look.ink;
  ground.width = 1.5;
  out.push_back(ground);
  out.push_back(words_shape(ground.box, name, look.ink, Qt::AlignCenter, 8.0, true));
}

void add_axes(const MapFigure& figure, const QSizeF& size, const QRectF& field, const Look& look, std::vector<FigureShape>& out) {
  const auto& columns = figure.map.columns;
  const auto& rows = figure.map.rows;
  const auto column_step = std::max<std::size_t>(
      1, static_cast<std::size_t>(std::ceil(52.0 * static_cast<double>(columns.values.size()) / field.width())));
  const auto row_step = std::max<std::size_t>(
      1, static_cast<std::size_t>(std::ceil(22.0 * static_cast<double>(rows.values.size()) / field.height())));
  for (std::size_t i = 0; i < columns.values.size(); i += column_step) {
    const QRectF box = cell_box(figure, field, {0, i});
    out.push_back(words_shape({box.center().x() - 30.0, field.bottom() + 3.0, 60.0, 16.0}, value_words(columns, i), look.ink));
  }
  for (std::size_t i = 0; i < rows.values.size(); i += row_step) {
    const QRectF box = cell_box(figure, field, {i, 0});
    out.push_back(words_shape({18.0, box.center().y() - 8.0, kLeft - 24.0, 16.0}, value_words(rows, i), look.ink,
                              Qt::AlignRight | Qt::AlignVCenter));
  }
  out.push_back(words_shape({field.left(), field.bottom() + 19.0, field.width(), 18.0}, axis_words(columns, figure.level_unit),
                            look.ink, Qt::AlignCenter, kBodyPt, true));
  out.push_back(words_shape({4.0, field.top() - 20.0, 200.0, 18.0}, axis_words(rows, figure.level_unit), look.ink,
                            Qt::AlignLeft | Qt::AlignVCenter, kBodyPt, true));
  out.push_back(words_shape({4.0, 4.0, size.width() - 8.0, 20.0}, figure.title, look.ink, Qt::AlignLeft | Qt::AlignVCenter,
                            kHeadingPt, true));
  out.push_back(words_shape({field.left() + 130.0, field.top() - 20.0, field.width() - 130.0, 18.0},
                            "lines where always in time: slowest decision (black), level margin (white)", look.muted,
                            Qt::AlignRight | Qt::AlignVCenter));
}

void add_legend(const QSizeF& size, const Look& look, std::vector<FigureShape>& out) {
  const double step = (size.width() - 16.0) / static_cast<double>(kOutcomes.size());
  for (std::size_t i = 0; i < kOutcomes.size(); ++i) {
    FigureShape shape;
    shape.box = QRectF{8.0 + step * static_cast<double>(i), size.height() - 26.0, 20.0, 18.0};
    shape.colour = colour_of(kOutcomes[i], look);
    shape.hatch = kOutcomes[i] == CellOutcome::false_decisions || kOutcomes[i] == CellOutcome::late;
    out.push_back(shape);
    out.push_back(words_shape(shape.box, QString{letter_of(kOutcomes[i])}, ink_on(shape.colour), Qt::AlignCenter, 8.0, true));
    out.push_back(words_shape({shape.box.right() + 6.0, shape.box.top(), step - 30.0, 18.0}, words_of(kOutcomes[i]), look.ink,
                              Qt::AlignLeft | Qt::AlignVCenter));
  }
}

std::string number(double value) {
  std::ostringstream out;
  out.precision(9);
  out << value;
  return out.str();
}

}  // namespace

QChar letter_of(CellOutcome outcome) {
  switch (outcome) {
    case CellOutcome::false_decisions:
      return 'F';
    case CellOutcome::late:
      return 'L';
    case CellOutcome::misses:
      return 'M';
    case CellOutcome::sometimes:
      return 'S';
    case CellOutcome::always_in_time:
      return 'A';
  }
  return '?';
}

QString words_of(CellOutcome outcome) {
  switch (outcome) {
    case CellOutcome::false_decisions:
      return "false decisions";
    case CellOutcome::late:
      return "late";
    case CellOutcome::misses:
      return "misses";
    case CellOutcome::sometimes:
      return "sometimes in time";
    case CellOutcome::always_in_time:
      return "always in time";
  }
  return {};
}

QColor colour_of(CellOutcome outcome, const Look& look) {
  switch (outcome) {
    case CellOutcome::false_decisions:
      return look.fill(Meaning::danger);
    case CellOutcome::late:
      return look.dark ? QColor{0x7A, 0x2E, 0x55} : QColor{0xE3, 0xA6, 0xC4};
    case CellOutcome::misses:
      return look.dark ? QColor{0x45, 0x4B, 0x54} : QColor{0xC9, 0xCE, 0xD6};
    case CellOutcome::sometimes:
      return look.fill(Meaning::abnormal);
    case CellOutcome::always_in_time:
      return look.fill(Meaning::safe);
  }
  return look.paper;
}

QString parameter_words(MapParameter parameter) {
  switch (parameter) {
    case MapParameter::window_seconds:
      return "window, ms";
    case MapParameter::window_samples:
      return "window, samples";
    case MapParameter::threshold:
      return "threshold net of rest, g";
    case MapParameter::required_samples:
      return "samples required";
    case MapParameter::filter_shift:
      return "filter shift";
    case MapParameter::building_g:
      return "building level, g";
    case MapParameter::deadline_seconds:
      return "deadline, ms";
    case MapParameter::rest_g:
      return "reading at rest, g";
  }
  return {};
}

QString place_words(const MapFigure& figure, MapPlace place) {
  return axis_words(figure.map.rows, figure.level_unit) + ' ' + value_words(figure.map.rows, place.row) + "; " +
         axis_words(figure.map.columns, figure.level_unit) + ' ' + value_words(figure.map.columns, place.column);
}

void complete_figure(MapFigure& figure, const analysis::DetectorSpec& spec) {
  if (spec.kind == analysis::DetectorKind::velocity_gain) figure.level_unit = "m/s";
  figure.region = find_robust_region(figure.map);
  if (figure.region) figure.proposed = figure.region->core;
  const auto row = parameter_value(spec, figure.map.rows.parameter), column = parameter_value(spec, figure.map.columns.parameter);
  if (row && column) figure.present = nearest_place(figure.map, *row, *column);
}

QRectF map_field(const QSizeF& size) { return {kLeft, kTop, size.width() - kLeft - kRight, size.height() - kTop - kBottom}; }

std::optional<MapPlace> place_at(const MapFigure& figure, const QSizeF& size, const QPointF& point) {
  const QRectF field = map_field(size);
  if (!field.contains(point) || figure.map.cells.empty()) return std::nullopt;
  const auto index = [](double share, std::size_t count) {
    return std::min(count - 1, static_cast<std::size_t>(share * static_cast<double>(count)));
  };
  return MapPlace{index((field.bottom() - point.y()) / field.height(), figure.map.rows.values.size()),
                  index((point.x() - field.left()) / field.width(), figure.map.columns.values.size())};
}

std::optional<MapPlace> nearest_place(const analysis::OperatingMap& map, double row_value, double column_value) {
  const auto nearest = [](const std::vector<double>& values, double value) -> std::optional<std::size_t> {
    std::size_t best = 0;
    for (std::size_t i = 1; i < values.size(); ++i)
      if (std::abs(values[i] - value) < std::abs(values[best] - value)) best = i;
    const double step = values.size() < 2          ? 0.0
                        : best + 1 < values.size() ? values[best + 1] - values[best]
                                                   : values[best] - values[best - 1];
    if (std::abs(values[best] - value) > 0.5 * step + 1.0e-12) return std::nullopt;
    return best;
  };
  const auto row = nearest(map.rows.values, row_value), column = nearest(map.columns.values, column_value);
  if (!row || !column) return std::nullopt;
  return MapPlace{*row, *column};
}

std::vector<FigureShape> map_shapes(const MapFigure& figure, const QSizeF& size, const Look& look) {
  std::vector<FigureShape> out;
  FigureShape ground;
  ground.box = QRectF{QPointF{0.0, 0.0}, size};
  ground.colour = look.sheet;
  out.push_back(ground);
  if (figure.map.cells.empty()) {
    out.push_back(words_shape(ground.box, figure.title, look.muted));
    return out;
  }
  const QRectF field = map_field(size);
  add_cells(figure, field, look, out);
  add_region(figure, field, look, out);
  add_contours(figure, field, out);
  add_axes(figure, size, field, look, out);
  if (figure.present) add_mark(figure, field, *figure.present, "present", look, out);
  if (figure.proposed && figure.proposed != figure.present) add_mark(figure, field, *figure.proposed, "proposed", look, out);
  add_legend(size, look, out);
  return out;
}

std::string map_csv(const analysis::OperatingMap& map) {
  const auto optional = [](const std::optional<double>& value) { return value ? number(*value) : std::string{}; };
  std::string out = std::string{word(map.rows.parameter)} + "," + word(map.columns.parameter) +
                    ",outcome,in_time,late,missed,early,false,silent,latency_max_seconds,latency_mean_seconds,time_margin_"
                    "seconds,level_margin,binding_recording\r\n";
  for (std::size_t row = 0; row < map.rows.values.size(); ++row) {
    for (std::size_t column = 0; column < map.columns.values.size(); ++column) {
      const MapCell& c = map.at(row, column);
      out += number(map.rows.values[row]) + "," + number(map.columns.values[column]) + "," + word(c.outcome);
      for (const std::uint32_t count : {c.in_time, c.late, c.missed, c.early, c.false_decisions, c.silent})
        out += "," + std::to_string(count);
      out += "," + optional(c.latency_max_seconds) + "," + optional(c.latency_mean_seconds) + "," +
             optional(c.time_margin_seconds) + "," + number(c.level_margin) + "," + std::to_string(c.binding_recording) + "\r\n";
    }
  }
  return out;
}

nlohmann::ordered_json cell_json(const MapCell& cell) {
  nlohmann::ordered_json out{{"outcome", word(cell.outcome)},
                             {"in_time", cell.in_time},
                             {"late", cell.late},
                             {"missed", cell.missed},
                             {"early", cell.early},
                             {"false", cell.false_decisions},
                             {"silent", cell.silent},
                             {"level_margin", cell.level_margin}};
  if (cell.latency_max_seconds) out["latency_max_seconds"] = *cell.latency_max_seconds;
  if (cell.time_margin_seconds) out["time_margin_seconds"] = *cell.time_margin_seconds;
  return out;
}

std::string map_json(const MapFigure& figure) {
  using Json = nlohmann::ordered_json;
  const auto place = [&](const std::optional<MapPlace>& p) { return p ? Json{{"row", p->row}, {"column", p->column}} : Json{}; };
  Json cells = Json::array();
  for (const MapCell& cell : figure.map.cells) cells.push_back(cell_json(cell));
  Json out{{"rows", {{"parameter", word(figure.map.rows.parameter)}, {"values", figure.map.rows.values}}},
           {"columns", {{"parameter", word(figure.map.columns.parameter)}, {"values", figure.map.columns.values}}},
           {"present", place(figure.present)},
           {"proposed", place(figure.proposed)},
           {"cells", std::move(cells)}};
  if (figure.region) {
    out["robust_region"] = {{"core", place(figure.region->core)}, {"cells", figure.region->cells.size()}};
  }
  return out.dump(1);
}

QString region_sentence(const MapFigure& figure) {
  if (!figure.region) return "No setting of this map gets every recording right.";
  const auto& e = figure.region->edges;
  struct Side {
    const MapAxis& axis;
    std::size_t core;
    const analysis::EdgeDistance &down, &up;
  };
  // "threshold net of rest, g": the unit goes behind the numbers
  const auto name = [&](const Side& side) { return axis_words(side.axis, figure.level_unit).section(", ", 0, 0); };
  const auto unit = [&](const Side& side) {
    const QString words = axis_words(side.axis, figure.level_unit).section(", ", 1);
    return words.isEmpty() ? words : ' ' + words;
  };
  const auto end = [&](const Side& side, const analysis::EdgeDistance& edge) {
    return QString::number(shown(side.axis.parameter, edge.last_good), 'g', 4) + unit(side) +
           (edge.first_bad ? "" : " (end of the map)");
  };
  const auto core = [&](const Side& side) { return name(side) + ' ' + value_words(side.axis, side.core) + unit(side); };
  const auto span = [&](const Side& side) { return name(side) + " from " + end(side, side.down) + " to " + end(side, side.up); };
  const Side rows{figure.map.rows, figure.region->core.row, e.row_down, e.row_up};
  const Side columns{figure.map.columns, figure.region->core.column, e.column_down, e.column_up};
  return QString{"Robust region: %1 settings. From its core (%2, %3) every recording comes out right with %4, and with %5."}
      .arg(figure.region->cells.size())
      .arg(core(rows), core(columns), span(rows), span(columns));
}

Result<void> write_map(const std::filesystem::path& file, const MapFigure& figure) {
  if (file.extension() == ".csv") return write_whole(file, map_csv(figure.map));
  if (file.extension() == ".json") return write_whole(file, map_json(figure));
  const QSizeF size{1000.0, 720.0};
  return write_figure(file, map_shapes(figure, size, light_look()), size);
}

}  // namespace coldstroke::gui
