// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/detector/map_panel.hpp"

#include <QComboBox>
#include <QLabel>
#include <QVBoxLayout>
#include <array>
#include <utility>

#include "analysis/detector/agreement.hpp"
#include "analysis/detector/axis_around.hpp"
#include "daq/detector/map_job.hpp"
#include "daq/detector/tolerance_job.hpp"
#include "gui/window/detector/map_view.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

using analysis::MapParameter;

constexpr std::size_t kSteps = 40;
constexpr std::array kOffered{MapParameter::window_seconds,  MapParameter::threshold,        MapParameter::building_g,
                              MapParameter::rest_g,          MapParameter::deadline_seconds, MapParameter::filter_shift,
                              MapParameter::required_samples};

QString milliseconds(const std::optional<double>& seconds) {
  return seconds ? QString::number(*seconds * 1000.0, 'f', 1) + " ms" : QString{"-"};
}

QString counts_of(const analysis::MapCell& c) {
  return QObject::tr("%1. In time %2, late %3, missed %4, early %5, false %6, silent %7; slowest %8, time margin %9")
      .arg(words_of(c.outcome))
      .arg(c.in_time)
      .arg(c.late)
      .arg(c.missed)
      .arg(c.early)
      .arg(c.false_decisions)
      .arg(c.silent)
      .arg(milliseconds(c.latency_max_seconds), milliseconds(c.time_margin_seconds));
}

}  // namespace

/// What the worker hands back.
struct MapPanel::Answer {
  MapFigure figure;
  analysis::DetectorLine line;
};

MapPanel::MapPanel(QWidget* parent) : DetectorPanel{"detector_map_panel", tr("Compute the map"), parent} {
  detector_ = addDetectorChoice("detector_choice", tr("Detector"));
  rows_ = addParameters("map_rows", tr("up"), MapParameter::window_seconds);
  columns_ = addParameters("map_columns", tr("across"), MapParameter::threshold);
  addSave(tr("Picture, drawing or table (*.png *.svg *.csv *.json)"),
          [this](const auto& file) { return write_map(file, view_->figure()); });
  endRow();
  view_ = new MapView;
  answer_ = wrapped_label("detector_answer");
  answer_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  cell_ = wrapped_label("detector_cell");
  cell_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  cell_->setText(tr("Click a cell, or move with the arrow keys, to read it."));
  auto* column = qobject_cast<QVBoxLayout*>(layout());
  column->addWidget(answer_);
  column->addWidget(view_, 1);
  column->addWidget(cell_);
  connect(view_, &MapView::cellChosen, this, &MapPanel::showCell);
  for (QComboBox* choice : {detector_, rows_, columns_}) connect(choice, &QComboBox::activated, this, [this] { begin(); });
}

QComboBox* MapPanel::addParameters(const char* name, const QString& words, MapParameter chosen) {
  auto* choice = new QComboBox;
  choice->setObjectName(name);
  for (const MapParameter parameter : kOffered) choice->addItem(parameter_words(parameter), static_cast<int>(parameter));
  choice->setCurrentIndex(choice->findData(static_cast<int>(chosen)));
  addToRow(choice, words);
  return choice;
}

void MapPanel::setData(const DetectorData& opened) {
  DetectorPanel::setData(opened);
  begin();
}

void MapPanel::fillDetectors() {
  DetectorPanel::fillDetectors();
  view_->show(MapFigure{{}, {}, tr("No map yet: open a library and a detector table"), {}, {}});
}

void MapPanel::begin() {
  if (busy()) {
    again_ = tolerating_;  // a map is wanted before what the last one tolerates
    if (tolerating_) cancel();
    return;
  }
  if (!ready()) return;
  const auto row = static_cast<MapParameter>(rows_->currentData().toInt());
  const auto column = static_cast<MapParameter>(columns_->currentData().toInt());
  const auto work = [this, data = data_, spec = chosen(detector_), row,
                     column](const BackgroundJob::Asked& asked) -> Result<Answer> {
    const auto& library = *data.library;
    const auto plan = plan_operating_map(library, spec, axis_around(spec, row, kSteps), axis_around(spec, column, kSteps));
    if (!plan) return tl::unexpected{plan.error()};
    auto map = daq::compute_map(
        *plan, 0, [this, &plan](std::size_t done) { job_->tell(done, plan->rows.values.size()); }, asked);
    if (!map) return Answer{};
    Answer out;
    out.figure.map = std::move(*map);
    out.figure.title = text(spec.name) + tr(" over %1 (%2 recordings)").arg(data.library_name).arg(library.size());
    complete_figure(out.figure, spec);
    auto lines = side_by_side(library, std::span{&spec, 1});
    if (!lines) return tl::unexpected{lines.error()};
    out.line = std::move(lines->front());
    return out;
  };
  job_->start(work, [this](Result<Answer> answer, bool stopped) { showAnswer(std::move(answer), stopped); });
}

void MapPanel::showAnswer(Result<Answer> answer, bool stopped) {
  if (!answer) return complain(answer.error());
  if (stopped || answer->figure.map.cells.empty()) return say(tr("Stopped: the map shown is the one before."));
  answer_->setText(tr("Present setting: %1.\n").arg(counts_of(answer->line.summary)) + region_sentence(answer->figure) +
                   tr(" It proposes; a person decides."));
  QStringList findings;
  for (const auto& finding : answer->line.findings) findings << text(finding.message);
  say(findings.isEmpty() ? QString{} : tr("The library: %1").arg(findings.mid(0, 3).join(' ')));
  view_->show(std::move(answer->figure));
  has_answer_ = true;
  followJob();
  Q_EMIT shown();
  tolerate(answer->line.spec);
}

void MapPanel::tolerate(const analysis::DetectorSpec& spec) {
  tolerating_ = true;
  job_->start(
      [this, data = data_, spec](const BackgroundJob::Asked& asked) -> Result<std::optional<analysis::Tolerances>> {
        const auto search = plan_tolerances(*data.library, spec);
        if (!search) return tl::unexpected{search.error()};
        return daq::compute_tolerances(
            *search, 0, [this](std::size_t done, std::size_t of) { job_->tell(done, of); }, asked);
      },
      [this](Result<std::optional<analysis::Tolerances>> found, bool) {
        tolerating_ = false;
        if (found && *found) answer_->setText(answer_->text() + tr("\nPresent setting: %1").arg(text(sentence(**found))));
        if (std::exchange(again_, false)) begin();
      });
}

void MapPanel::showCell(qulonglong row, qulonglong column) {
  const MapFigure& figure = view_->figure();
  const analysis::MapCell& c = figure.map.at(row, column);
  const QString binding =
      c.binding_recording < data_.library->size() ? text((*data_.library)[c.binding_recording].name) : QString{};
  cell_->setText(tr("%1: %2, level margin %3 %4, set by \"%5\".")
                     .arg(place_words(figure, {row, column}), counts_of(c), QString::number(c.level_margin, 'g', 3),
                          figure.level_unit, binding));
}

}  // namespace coldstroke::gui
