// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/plot/charts.hpp"

#include <QAreaSeries>
#include <QBarCategoryAxis>
#include <QBarSet>
#include <QHorizontalBarSeries>
#include <QLegend>
#include <QLegendMarker>
#include <QLineSeries>
#include <QScatterSeries>
#include <QValueAxis>
#include <algorithm>
#include <cmath>

#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

constexpr std::size_t kBars = 6;  // more lines of a budget do not show at this size

QLineSeries* line(QChart* chart, const QString& name, const QPen& pen) {
  auto* made = new QLineSeries{chart};
  made->setName(name);
  made->setPen(pen);
  return made;
}

/// A tick step of 1, 2 or 5 times a power of ten that gives about `ticks` of them.
double nice_step(double span, double ticks) {
  const double raw = span / ticks, power = std::pow(10.0, std::floor(std::log10(raw)));
  const double part = raw / power;
  return power * (part < 1.5 ? 1.0 : part < 3.5 ? 2.0 : part < 7.5 ? 5.0 : 10.0);
}

constexpr double kTicks = 5.0;

void set_ticks(QValueAxis* axis, double step) {
  axis->setTickInterval(step);
  axis->setLabelFormat(step >= 1.0 ? "%.0f" : step >= 0.1 ? "%.1f" : step >= 0.01 ? "%.2f" : step >= 0.001 ? "%.3f" : "%.1e");
}

void dress(QValueAxis* axis, const Look& look, double low, double high, double ticks = kTicks) {
  const double step = nice_step(std::max(1.0e-9, high - low), ticks);
  axis->setRange(std::floor(low / step + 1.0e-9) * step, std::ceil(high / step - 1.0e-9) * step);
  axis->setTickType(QValueAxis::TicksDynamic);
  set_ticks(axis, step);
  axis->setGridLineColor(look.line);
  axis->setLinePenColor(look.muted);
  axis->setLabelsColor(look.ink);
  axis->setTitleBrush(look.ink);
  axis->setLabelsFont(type(kBodyPt));
  axis->setTitleFont(type(kBodyPt));
}

/// Loads to show: a point on the edge would be cut in half.
std::pair<double, double> with_room(const analysis::CalibrationCurve& curve, double per_si) {
  const double room = 0.03 * (curve.applied_high() - curve.applied_low());
  return {(curve.applied_low() - room) * per_si, (curve.applied_high() + room) * per_si};
}

}  // namespace

Chart::Chart(const QString& object_name, QWidget* parent) : QChartView{parent} {
  setObjectName(object_name);
  setRenderHint(QPainter::Antialiasing);
  setFrameShape(QFrame::NoFrame);
  setFocusPolicy(Qt::NoFocus);
  setMinimumSize(240, 130);  // two of them, one above the other, in the smallest window
}

void Chart::begin(const QString& title) {
  const Look& look = look_of(this);
  QChart* old = chart();
  auto* made = new QChart;
  made->setTitle(title);
  made->setTitleFont(type(kHeadingPt, true));
  made->setTitleBrush(look.ink);
  made->setBackgroundBrush(look.sheet);
  made->setBackgroundRoundness(0.0);
  made->setMargins({4, 2, 8, 2});
  made->legend()->setAlignment(Qt::AlignBottom);
  made->legend()->setMarkerShape(QLegend::MarkerShapeFromSeries);
  made->legend()->setLabelColor(look.ink);
  made->legend()->setFont(type(kBodyPt));
  setBackgroundBrush(look.sheet);
  setChart(made);
  delete old;
}

void Chart::addAxes(const QString& x, const QString& y, double low_x, double high_x, double low_y, double high_y) {
  const Look& look = look_of(this);
  auto *across = new QValueAxis, *up = new QValueAxis;
  dress(across, look, low_x, high_x, ticks(Qt::Horizontal));
  dress(up, look, low_y, high_y, ticks(Qt::Vertical));
  across->setTitleText(x);
  up->setTitleText(y);
  chart()->addAxis(across, Qt::AlignBottom);
  chart()->addAxis(up, Qt::AlignLeft);
  for (QAbstractSeries* series : chart()->series()) {
    series->attachAxis(across);
    series->attachAxis(up);
  }
}

// A label that finds no room is drawn as three dots: a small chart takes fewer.
double Chart::ticks(Qt::Orientation along) const {
  constexpr int kTallPixels = 320, kWidePixels = 480;
  return (along == Qt::Vertical ? height() < kTallPixels : width() < kWidePixels) ? 2.5 : kTicks;
}

void Chart::resizeEvent(QResizeEvent* event) {
  QChartView::resizeEvent(event);
  for (const Qt::Orientation along : {Qt::Horizontal, Qt::Vertical})
    for (QAbstractAxis* axis : chart()->axes(along))
      if (auto* numbers = qobject_cast<QValueAxis*>(axis); numbers != nullptr && numbers->max() > numbers->min())
        set_ticks(numbers, nice_step(numbers->max() - numbers->min(), ticks(along)));
}

void Chart::showNothing(const QString& why) {
  begin(why);
  chart()->legend()->hide();
}

void Chart::showClimb(const ClimbView& view) {
  const Look& look = look_of(this);
  begin(tr("Unpowered climb and ignition window"));
  const double top = 1.15 * view.apex.height_metres, end = view.profile.empty() ? 1.0 : view.profile.back().seconds;
  if (view.window) {
    auto* upper = line(chart(), {}, QPen{Qt::NoPen});
    auto* lower = line(chart(), {}, QPen{Qt::NoPen});
    for (const double t : {view.window->opens_seconds, view.window->closes_seconds}) {
      upper->append(t, top);
      lower->append(t, 0.0);
    }
    auto* shade = new QAreaSeries{upper, lower};
    upper->setParent(shade);
    lower->setParent(shade);
    shade->setName(tr("thrust may begin"));
    shade->setPen(QPen{look.muted, 1.0, Qt::DashLine});
    QColor fill = look.acceleration;
    fill.setAlpha(40);
    shade->setBrush(QBrush{fill});
    chart()->addSeries(shade);
  }
  auto* height = line(chart(), tr("height"), QPen{look.force, 2.0});
  for (const ClimbPoint& p : view.profile) height->append(p.seconds, p.height_metres);
  chart()->addSeries(height);
  if (view.onset_seconds) {
    auto* onset = line(chart(), tr("expected thrust"), QPen{look.ink, 2.0});
    onset->append(*view.onset_seconds, 0.0);
    onset->append(*view.onset_seconds, top);
    chart()->addSeries(onset);
    auto* spread = line(chart(), tr("its 95 %"), QPen{look.ink, 5.0, Qt::SolidLine, Qt::FlatCap});
    spread->append(*view.onset_early_seconds, 0.05 * top);
    spread->append(*view.onset_late_seconds, 0.05 * top);
    chart()->addSeries(spread);
  }
  if (view.latest_safe_decision_seconds) {
    auto* latest = line(chart(), tr("latest safe decision"), QPen{look.danger_line, 2.0, Qt::DotLine});
    latest->append(*view.latest_safe_decision_seconds, 0.0);
    latest->append(*view.latest_safe_decision_seconds, top);
    chart()->addSeries(latest);
  }
  addAxes(tr("s from separation"), tr("height above the mouth, m"), std::min(0.0, view.decision_seconds.value_or(0.0)), end, 0.0,
          top);
}

void Chart::showPredicted(const analysis::ChargePlan& plan, analysis::PlanQuantity quantity, const QString& unit,
                          double per_unit) {
  const Look& look = look_of(this);
  begin(tr("Fitted against measured"));
  auto* dots = new QScatterSeries{chart()};
  dots->setName(tr("one dot a trial"));
  dots->setMarkerSize(8.0);
  dots->setColor(look.force);
  dots->setBorderColor(look.sheet);
  double low = 1.0e300, high = -1.0e300;
  for (const analysis::Residual& r : plan.residuals) {
    if (r.quantity != quantity) continue;
    dots->append(r.measured * per_unit, r.fitted * per_unit);
    low = std::min({low, r.measured * per_unit, r.fitted * per_unit});
    high = std::max({high, r.measured * per_unit, r.fitted * per_unit});
  }
  if (low > high) return showNothing(tr("No trial has this quantity"));
  const double room = std::max(0.05 * (high - low), 1.0e-3 * std::abs(high));
  auto* equal = line(chart(), tr("equal"), QPen{look.muted, 1.0, Qt::DashLine});
  equal->append(low - room, low - room);
  equal->append(high + room, high + room);
  chart()->addSeries(equal);
  chart()->addSeries(dots);
  addAxes(tr("measured, %1").arg(unit), tr("fitted, %1").arg(unit), low - room, high + room, low - room, high + room);
}

void Chart::showResiduals(const analysis::ChargePlan& plan) {
  const Look& look = look_of(this);
  begin(tr("Residuals"));
  struct Kind {
    analysis::PlanQuantity quantity;
    QString name;
    QColor colour;
    QScatterSeries::MarkerShape shape;
  };
  const Kind kinds[] = {{analysis::PlanQuantity::exit_speed, tr("exit speed"), look.force, QScatterSeries::MarkerShapeCircle},
                        {analysis::PlanQuantity::stroke_time, tr("stroke time"), look.ink, QScatterSeries::MarkerShapeRectangle},
                        {analysis::PlanQuantity::peak, tr("peak"), look.acceleration, QScatterSeries::MarkerShapeTriangle},
                        {analysis::PlanQuantity::droop, tr("droop"), look.supply, QScatterSeries::MarkerShapeRotatedRectangle}};
  double most = 0.5, first = 1.0e300, last = 0.0;
  for (const Kind& kind : kinds) {
    auto* dots = new QScatterSeries{chart()};
    dots->setName(kind.name);
    dots->setMarkerShape(kind.shape);
    dots->setMarkerSize(9.0);
    dots->setColor(kind.colour);
    dots->setBorderColor(look.sheet);
    for (const analysis::Residual& r : plan.residuals) {
      if (r.quantity != kind.quantity) continue;
      const double per_cent = 100.0 * (r.measured / r.fitted - 1.0), number = static_cast<double>(r.trial);
      if (!std::isfinite(per_cent)) continue;
      dots->append(number, per_cent);
      most = std::max(most, std::abs(per_cent));
      first = std::min(first, number);
      last = std::max(last, number);
    }
    chart()->addSeries(dots);
  }
  if (first > last) return showNothing(tr("No residuals"));
  addAxes(tr("trial"), tr("measured less fitted, %"), first - 1.0, last + 1.0, -1.1 * most, 1.1 * most);
}

void Chart::showCalibration(const daq::CalibrationRecord& record, const QString& unit, double per_si) {
  const Look& look = look_of(this);
  begin(tr("Calibration curve"));
  const analysis::CalibrationCurve& curve = record.curve;
  auto* fitted = line(chart(), tr("curve"), QPen{look.force, 2.0});
  auto *above = line(chart(), tr("its 95 % band"), QPen{look.muted, 1.0, Qt::DashLine}),
       *below = line(chart(), {}, QPen{look.muted, 1.0, Qt::DashLine});
  double least = 1.0e300, most = -1.0e300;
  constexpr int kSteps = 60;
  const double factor = analysis::factor_95(curve.doubt().degrees_of_freedom);
  for (int k = 0; k <= kSteps; ++k) {
    const double load = curve.applied_low() + (curve.applied_high() - curve.applied_low()) * k / kSteps;
    const double reading = curve.reading_at(load), wide = factor * curve.reading_standard_uncertainty_at(load);
    fitted->append(load * per_si, reading);
    above->append(load * per_si, reading + wide);
    below->append(load * per_si, reading - wide);
    least = std::min(least, reading - wide);
    most = std::max(most, reading + wide);
  }
  auto* dots = new QScatterSeries{chart()};
  dots->setName(tr("points"));
  dots->setMarkerSize(9.0);
  dots->setColor(look.acceleration);
  dots->setBorderColor(look.sheet);
  for (const analysis::CalibrationPoint& p : record.points) {
    dots->append(p.applied * per_si, p.reading);
    least = std::min(least, p.reading);
    most = std::max(most, p.reading);
  }
  for (QAbstractSeries* series : std::initializer_list<QAbstractSeries*>{fitted, above, below, dots}) chart()->addSeries(series);
  chart()->legend()->markers(below).first()->setVisible(false);
  const auto [low, high] = with_room(curve, per_si);
  addAxes(tr("load, %1").arg(unit), tr("counts"), low, high, least, most);
}

void Chart::showCalibrationResiduals(const daq::CalibrationRecord& record, const QString& unit, double per_si) {
  const Look& look = look_of(this);
  begin(tr("Residuals"));
  const analysis::CalibrationCurve& curve = record.curve;
  double most = 0.0;
  for (const bool unloading : {false, true}) {
    auto* dots = new QScatterSeries{chart()};
    dots->setName(unloading ? tr("unloading") : tr("loading"));
    dots->setMarkerShape(unloading ? QScatterSeries::MarkerShapeTriangle : QScatterSeries::MarkerShapeCircle);
    dots->setMarkerSize(9.0);
    dots->setColor(unloading ? look.supply : look.force);
    dots->setBorderColor(look.sheet);
    for (std::size_t k = 0; k < record.points.size(); ++k) {
      if (record.points[k].unloading != unloading) continue;
      const double off = curve.residuals()[k] / curve.slope_at(record.points[k].applied) * per_si;
      dots->append(record.points[k].applied * per_si, off);
      most = std::max(most, std::abs(off));
    }
    chart()->addSeries(dots);
  }
  most = std::max(most, 1.0e-6 * (curve.applied_high() - curve.applied_low()) * per_si);
  const auto [low, high] = with_room(curve, per_si);
  // The load's axis is named by the chart above; the legend beside the plot leaves it its height.
  chart()->legend()->setAlignment(Qt::AlignRight);
  addAxes({}, tr("off, %1").arg(unit), low, high, -1.2 * most, 1.2 * most);
}

void Chart::showBudget(const QString& title, const analysis::Measured& measured, const QString& unit, double per_unit) {
  const Look& look = look_of(this);
  if (measured.budget.empty()) return showNothing(tr("This number carries no budget"));
  begin(tr("%1: uncertainty budget").arg(title));
  auto* bars = new QHorizontalBarSeries{chart()};
  auto* set = new QBarSet{tr("share of the standard uncertainty")};
  set->setColor(look.force);
  set->setBorderColor(look.force);
  QStringList names;
  const std::size_t shown = std::min(kBars, measured.budget.size());
  for (std::size_t i = shown; i-- > 0;) {
    *set << measured.budget[i].share * per_unit;
    names << text(measured.budget[i].source);
  }
  bars->append(set);
  chart()->addSeries(bars);
  auto* inputs = new QBarCategoryAxis;
  inputs->append(names);
  inputs->setLabelsColor(look.ink);
  inputs->setLabelsFont(type(kBodyPt));
  inputs->setGridLineVisible(false);
  inputs->setLinePenColor(look.muted);
  auto* share = new QValueAxis;
  dress(share, look, 0.0, measured.budget.front().share * per_unit);
  share->setTitleText(tr("share, %1").arg(unit));
  chart()->addAxis(inputs, Qt::AlignLeft);
  chart()->addAxis(share, Qt::AlignBottom);
  bars->attachAxis(inputs);
  bars->attachAxis(share);
  chart()->legend()->hide();
}

}  // namespace coldstroke::gui
