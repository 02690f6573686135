// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/plot/trial_traces.hpp"

#include <QMouseEvent>
#include <QWheelEvent>
#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/trial/filtered_trace.hpp"
#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

constexpr double kMarkLine = 17.0, kMarkLines = 3.0, kTitle = 18.0, kTop = kMarkLine * kMarkLines + kTitle + 4.0,
                 kAxisTitle = 16.0;
// Nearer than this two marks share a label.
constexpr double kMarksShare = 14.0;
constexpr double kShortestSeconds = 1.0e-3;
// Below one second people read milliseconds.
double per_second(const Stretch& stretch) { return stretch.length() < 1.0 ? 1.0e3 : 1.0; }

}  // namespace

TrialTraces::TrialTraces(QWidget* parent) : QWidget{parent} {
  setObjectName("trial_traces");
  setAttribute(Qt::WA_OpaquePaintEvent);
  setMouseTracking(true);
  setFocusPolicy(Qt::StrongFocus);
  setMinimumSize(minimumSizeHint());
  setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Expanding);
  setAccessibleName(tr("Traces of the trial"));
  setToolTip(
      tr("Wheel: zoom time. Drag: pan. Double click: back to the stroke.\nArrow keys move the crosshair, Ctrl+arrows pan, + and "
         "- zoom, Home resets."));
}

void TrialTraces::clear() { show({}, {}); }

void TrialTraces::show(analysis::TraceSet traces, const analysis::Marks& marks) {
  rows_.clear();  // they point into the old traces
  traces_ = std::move(traces);
  marks_ = marks;
  filtered_.clear();
  for (const analysis::Trace* trace : stacking_order(traces_)) {
    rows_.push_back({trace, {}, {}, {}});
    if (trace->frequency_class == 0) continue;
    if (auto filtered = analysis::filtered_trace(*trace)) rows_.back().filtered = &filtered_.emplace_back(std::move(*filtered));
  }
  chooseShown();
  zero_ = zero_seconds(traces_, marks_);
  crosshair_.reset();
  layOutRows();
  showStroke();
}

void TrialTraces::chooseShown() {
  for (Row& row : rows_) row.trace = row.filtered != nullptr && !unfiltered_ ? row.filtered : row.raw;
}

void TrialTraces::setUnfiltered(bool unfiltered) {
  unfiltered_ = unfiltered;
  chooseShown();
  fitRanges();
  update();
}

QString TrialTraces::legend(std::size_t row) const {
  return text(trace_legend(*rows_.at(row).raw, rows_.at(row).trace == rows_.at(row).filtered));
}

void TrialTraces::showStroke() { setStretch(stroke_stretch(traces_, marks_)); }
void TrialTraces::showAllMarks() { setStretch(all_marks_stretch(traces_, marks_)); }
void TrialTraces::showWholeRecord() { setStretch(whole_record(traces_)); }

void TrialTraces::setStretch(Stretch stretch) {
  const Stretch whole = whole_record(traces_);
  const double length = std::clamp(stretch.length(), kShortestSeconds, std::max(kShortestSeconds, whole.length()));
  const double from =
      std::clamp(stretch.from_seconds, whole.from_seconds, std::max(whole.from_seconds, whole.to_seconds - length));
  stretch_ = {from, from + length};
  fitRanges();
  update();
  Q_EMIT stretchChanged();
}

void TrialTraces::setCrosshair(std::optional<double> seconds) {
  crosshair_ = seconds;
  update();
}

void TrialTraces::layOutRows() {
  const double count = static_cast<double>(std::max<std::size_t>(1, rows_.size()));
  const double height = std::floor((this->height() - kTop - kPlotBottom - kAxisTitle - kPlotGap * (count - 1.0)) / count);
  double top = kTop;
  for (Row& row : rows_) {
    row.area = QRectF{kPlotLeft, top, std::floor(width() - kPlotLeft - kPlotRight), height};
    top += height + kPlotGap;
  }
}

// Each value axis holds what its trace does inside the stretch shown.
void TrialTraces::fitRanges() {
  for (Row& row : rows_) {
    const Column span = trace_columns(*row.trace, stretch_.from_seconds, stretch_.to_seconds, 1).front();
    const double per_si = screen_unit(row.trace->quantity).per_si;
    if (!span.empty())
      row.range =
          axis_range(span.low * per_si, span.high * per_si, static_cast<int>(std::clamp(row.area.height() / 24.0, 2.0, 5.0)));
  }
}

double TrialTraces::x(double seconds) const {
  return kPlotLeft + (width() - kPlotLeft - kPlotRight) * (seconds - stretch_.from_seconds) / stretch_.length();
}

double TrialTraces::secondsAt(double at) const {
  return stretch_.from_seconds + stretch_.length() * (at - kPlotLeft) / std::max(1.0, width() - kPlotLeft - kPlotRight);
}

AxisRange TrialTraces::timeAxis() const {
  const double scale = per_second(stretch_);
  return axis_steps((stretch_.from_seconds - zero_) * scale, (stretch_.to_seconds - zero_) * scale, 8);
}

QString TrialTraces::reading(std::size_t row, double seconds) const {
  const analysis::Trace& trace = *rows_.at(row).trace;
  const double at = (seconds - trace.start_seconds) / trace.period_seconds;
  if (at < -0.5 || at > static_cast<double>(trace.samples.size()) - 0.5) return {};
  const auto k = std::min(trace.samples.size() - 1, static_cast<std::size_t>(std::max(0.0, std::round(at))));
  const auto holds = [&](const analysis::IndexRun& run) { return run.first <= k && k < run.last; };
  if (std::any_of(trace.missing.begin(), trace.missing.end(), holds) || std::isnan(trace.samples[k])) return tr("lost");
  const ScreenUnit unit = screen_unit(trace.quantity);
  const int decimals = std::min(4, rows_[row].range.decimals() + 2);
  return text(decimal(trace.samples[k] * unit.per_si, decimals)) + " " + text(unit.symbol);
}

void TrialTraces::resizeEvent(QResizeEvent*) {
  layOutRows();
  fitRanges();
}

void TrialTraces::zoom(double factor, double around) {
  setStretch({around - (around - stretch_.from_seconds) * factor, around + (stretch_.to_seconds - around) * factor});
}

void TrialTraces::pan(double seconds) { setStretch({stretch_.from_seconds + seconds, stretch_.to_seconds + seconds}); }

void TrialTraces::wheelEvent(QWheelEvent* event) {
  zoom(std::pow(0.8, event->angleDelta().y() / 120.0), secondsAt(event->position().x()));
  event->accept();
}

void TrialTraces::mousePressEvent(QMouseEvent* event) {
  if (event->button() != Qt::LeftButton) return;
  dragged_from_ = secondsAt(event->position().x());
  setCursor(Qt::ClosedHandCursor);
}

void TrialTraces::mouseMoveEvent(QMouseEvent* event) {
  const double at = event->position().x();
  if (dragged_from_)
    pan(*dragged_from_ - secondsAt(at));
  else if (at >= kPlotLeft && at <= width() - kPlotRight)
    setCrosshair(secondsAt(at));
}

void TrialTraces::mouseReleaseEvent(QMouseEvent*) {
  dragged_from_.reset();
  unsetCursor();
}

void TrialTraces::mouseDoubleClickEvent(QMouseEvent*) { showStroke(); }
void TrialTraces::leaveEvent(QEvent*) { setCrosshair(std::nullopt); }

void TrialTraces::keyPressEvent(QKeyEvent* event) {
  const double step = stretch_.length() / 100.0, middle = 0.5 * (stretch_.from_seconds + stretch_.to_seconds);
  const bool pans = (event->modifiers() & Qt::ControlModifier) != 0;
  const double sign = event->key() == Qt::Key_Left ? -1.0 : 1.0;
  switch (event->key()) {
    case Qt::Key_Left:
    case Qt::Key_Right:
      if (pans)
        pan(10.0 * sign * step);
      else
        setCrosshair(std::clamp(crosshair_.value_or(middle) + sign * step, stretch_.from_seconds, stretch_.to_seconds));
      break;
    case Qt::Key_Plus:
    case Qt::Key_Equal:
      zoom(0.8, crosshair_.value_or(middle));
      break;
    case Qt::Key_Minus:
      zoom(1.25, crosshair_.value_or(middle));
      break;
    case Qt::Key_Home:
      showStroke();
      break;
    default:
      QWidget::keyPressEvent(event);
  }
}

void TrialTraces::paintRuns(QPainter& painter, const Row& row, const std::vector<analysis::IndexRun>& runs, const QString& word,
                            const Look& look) {
  for (const analysis::IndexRun& run : runs) {
    const double from = x(row.trace->start_seconds + static_cast<double>(run.first) * row.trace->period_seconds);
    const double to =
        std::max(from + 2.0, x(row.trace->start_seconds + static_cast<double>(run.last) * row.trace->period_seconds));
    const QRectF field = QRectF{from, row.area.top(), to - from, row.area.height()} & row.area;
    if (field.isEmpty()) continue;
    paint_hatch(painter, field, look.muted);
    painter.setPen(look.ink);
    painter.setFont(type(kBodyPt));
    painter.drawText(QPointF{std::min(field.left() + 2.0, row.area.right() - 60.0), row.area.bottom() - 4.0}, word);
  }
}

void TrialTraces::paintRow(QPainter& painter, Row& row, const Look& look) {
  const analysis::Trace& trace = *row.trace;
  const ScreenUnit unit = screen_unit(trace.quantity);
  const double scale = row.area.height() / (row.range.high - row.range.low);
  const auto y = [&](double sample) { return row.area.bottom() - (sample * unit.per_si - row.range.low) * scale; };
  QPen pen{look.trace(trace.role), 1.0};
  pen.setCosmetic(true);
  painter.save();
  painter.setClipRect(row.area.adjusted(0.0, -2.0, 0.0, 2.0));
  painter.setPen(pen);
  const auto columns = static_cast<std::size_t>(std::max(1.0, row.area.width() * devicePixelRatioF()));
  const analysis::IndexRun inside = samples_between(trace, stretch_.from_seconds, stretch_.to_seconds);
  if (inside.last - inside.first > 2 * columns) {
    row.lines.clear();
    const auto reduced = trace_columns(trace, stretch_.from_seconds, stretch_.to_seconds, columns);
    for (std::size_t c = 0; c < reduced.size(); ++c) {
      if (reduced[c].empty())
        row.lines.gap();
      else
        row.lines.add(row.area.left() + row.area.width() * (static_cast<double>(c) + 0.5) / static_cast<double>(columns),
                      y(reduced[c].low), y(reduced[c].high));
    }
    painter.drawLines(row.lines.lines().data(), static_cast<int>(row.lines.lines().size()));
  } else {
    QPolygonF line;  // one sample more on each side, so that the line reaches the edges
    const std::size_t from = inside.first > 0 ? inside.first - 1 : 0, to = std::min(trace.samples.size(), inside.last + 1);
    for (std::size_t k = from; k <= to; ++k) {
      if (k < to && !std::isnan(trace.samples[k])) {
        line << QPointF{x(trace.start_seconds + static_cast<double>(k) * trace.period_seconds), y(trace.samples[k])};
      } else {
        painter.drawPolyline(line);
        line.clear();
      }
    }
  }
  painter.restore();
  paintRuns(painter, row, trace.missing, tr("lost"), look);
  paintRuns(painter, row, trace.saturated, tr("saturated"), look);
}

// Marks that stand too close for a word each share one: "valve, motion, peak". One outside the stretch says where it is.
std::vector<TrialTraces::MarkLabel> TrialTraces::markLabels() const {
  std::vector<MarkLabel> labels;
  for (const Mark& mark : mark_list(marks_)) {
    const bool before = mark.seconds<stretch_.from_seconds, after = mark.seconds> stretch_.to_seconds;
    QString words = text(mark.word);
    if (before || after) words = tr("%1 at %2 s").arg(words, text(significant(mark.seconds - zero_, 3)));
    if (before) words.prepend("← ");
    if (after) words += " →";
    const double at = std::clamp(x(mark.seconds), kPlotLeft, width() - kPlotRight);
    const bool shares = !labels.empty() && labels.back().inside && !before && !after && at - labels.back().last_x < kMarksShare;
    if (shares)
      labels.back().words += ", " + words;
    else
      labels.push_back({at, at, words, !before && !after});
    labels.back().last_x = at;
  }
  return labels;
}

void TrialTraces::paintMarks(QPainter& painter, const Look& look) const {
  const double bottom = rows_.back().area.bottom(), right_end = width() - 2.0;
  painter.setPen(QPen{look.muted, 1.0, Qt::DashLine});
  for (const Mark& mark : mark_list(marks_))
    if (mark.seconds >= stretch_.from_seconds && mark.seconds <= stretch_.to_seconds)
      painter.drawLine(QPointF{x(mark.seconds), 2.0}, QPointF{x(mark.seconds), bottom});
  std::array<double, static_cast<std::size_t>(kMarkLines)> taken{};
  taken.fill(-4.0);
  painter.setFont(type(kBodyPt));
  const QFontMetricsF metrics{painter.font()};
  for (const MarkLabel& label : markLabels()) {
    const double advance = metrics.horizontalAdvance(label.words);
    const double start = std::max(2.0, std::min(label.last_x + 3.0, right_end - advance));
    const auto free = std::find_if(taken.begin(), taken.end(), [&](double end) { return start >= end; });
    const auto line = free == taken.end() ? taken.size() - 1 : static_cast<std::size_t>(free - taken.begin());
    taken[line] = start + advance + 6.0;
    const QRectF place{start, 2.0 + kMarkLine * static_cast<double>(line), advance, kMarkLine};
    painter.fillRect(place.adjusted(-1.0, 0.0, 1.0, 0.0), look.sheet);  // the rules of other marks pass behind
    painter.setPen(look.ink);
    painter.drawText(QPointF{start, place.top() + metrics.ascent()}, label.words);
  }
}

void TrialTraces::paintCrosshair(QPainter& painter, const Look& look) const {
  painter.setFont(type(kBodyPt, true));
  for (std::size_t k = 0; k < rows_.size(); ++k) {
    const Row& row = rows_[k];
    QString words = legend(k);
    if (crosshair_) words += "   " + reading(k, *crosshair_);
    painter.setPen(look.ink);
    const QRectF place = painter.boundingRect(QRectF{row.area.left(), row.area.top() - kTitle - 1.0, row.area.width(), kTitle},
                                              Qt::AlignRight | Qt::AlignVCenter, words);
    painter.fillRect(place.adjusted(-16.0, 0.0, 0.0, 0.0), look.sheet);  // marks pass behind
    painter.fillRect(QRectF{place.left() - 14.0, place.center().y() - 1.5, 10.0, 3.0}, look.trace(row.trace->role));
    painter.drawText(place, words);
  }
  const double bottom = rows_.back().area.bottom();
  const double scale = per_second(stretch_);
  QString axis = scale > 1.0 ? tr("time from first motion, ms") : tr("time from first motion, s");
  if (!marks_.first_motion_seconds)
    axis.replace(tr("first motion"), marks_.release_commanded_seconds ? tr("release") : tr("start"));
  if (crosshair_) {
    painter.setPen(QPen{look.ink, 1.0});
    painter.drawLine(QPointF{x(*crosshair_), kTop - kTitle}, QPointF{x(*crosshair_), bottom});
    axis =
        tr("crosshair at %1 %2      ")
            .arg(text(decimal((*crosshair_ - zero_) * scale, std::min(6, timeAxis().decimals() + 2))), scale > 1.0 ? "ms" : "s") +
        axis;
  }
  painter.setFont(type(kBodyPt));
  painter.setPen(look.muted);
  painter.drawText(QRectF{0.0, bottom + kPlotBottom - 2.0, width() - kPlotRight, kAxisTitle}, Qt::AlignRight | Qt::AlignTop,
                   axis);
}

void TrialTraces::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  if (rows_.empty()) {
    painter.fillRect(rect(), look.sheet);
    painter.setPen(look.muted);
    painter.drawText(rect(), Qt::AlignCenter, tr("No traces to draw."));
    return;
  }
  std::vector<FrameRow> frames;
  for (const Row& row : rows_) frames.push_back({row.range, row.area});
  painter.drawPixmap(0, 0, frame_.picture(size(), devicePixelRatioF(), frames, timeAxis(), look));
  paintMarks(painter, look);
  for (Row& row : rows_) paintRow(painter, row, look);
  paintCrosshair(painter, look);
  if (hasFocus()) {
    painter.setPen(QPen{look.mandatory, 2.0});
    painter.drawRect(rect().adjusted(1, 1, -1, -1));
  }
}

}  // namespace coldstroke::gui
