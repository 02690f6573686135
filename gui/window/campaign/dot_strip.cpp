// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/campaign/dot_strip.hpp"

#include <QHelpEvent>
#include <QMouseEvent>
#include <QToolTip>
#include <algorithm>
#include <cmath>

#include "gui/report/figures.hpp"
#include "gui/report/metric_rows.hpp"

namespace coldstroke::gui {
namespace {

constexpr double kTop = 34.0, kReach = 14.0;

// In median distances from the median; beyond, a value is drawn on the edge.
constexpr double kFarOff = 12.0;

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

void paint_shape(QPainter& painter, const QPointF& at, const std::string& verdict, const Look& look) {
  painter.setBrush(Qt::NoBrush);
  if (verdict == "pass") {
    painter.setPen(Qt::NoPen);
    painter.setBrush(look.ink);
    painter.drawEllipse(at, 4.0, 4.0);
  } else if (verdict == "fail") {
    painter.setPen(QPen{look.danger_line, 2.4});
    painter.drawLine(at + QPointF{-5.0, -5.0}, at + QPointF{5.0, 5.0});
    painter.drawLine(at + QPointF{-5.0, 5.0}, at + QPointF{5.0, -5.0});
  } else if (verdict == "void") {
    painter.setPen(QPen{look.ink, 1.5});
    painter.drawRect(QRectF{at.x() - 4.0, at.y() - 4.0, 8.0, 8.0});
  } else {
    painter.setPen(QPen{look.muted, 2.0});
    painter.drawLine(at + QPointF{-4.0, 0.0}, at + QPointF{4.0, 0.0});
  }
}

}  // namespace

DotStrip::DotStrip(QWidget* parent) : QWidget{parent} {
  setObjectName("dot_strip");
  setAttribute(Qt::WA_OpaquePaintEvent);
  setMinimumSize(minimumSizeHint());
  setAccessibleName(tr("One mark a trial; the table below holds the same numbers"));
}

void DotStrip::show(const std::vector<ReportTrial>& trials, const std::string& metric) {
  dots_.clear();
  lower_.reset();
  upper_.reset();
  const MetricWords* words = metric_words(metric);
  const double per_unit = words == nullptr ? 1.0 : words->per_unit;
  title_ = words == nullptr ? text(metric) : text(words->title);
  unit_ = words == nullptr ? QString{} : text(words->unit);
  for (const ReportTrial& trial : trials) {
    Dot& dot = dots_.emplace_back(Dot{trial.row.number, verdict_word(trial), {}, {}, {}});
    const analysis::Metric* found = trial.judged ? trial.result.metric(metric) : nullptr;
    if (found == nullptr) continue;
    const auto* measured = found->measured();
    if (measured != nullptr && std::isfinite(measured->value)) {
      dot.value = measured->value * per_unit;
      dot.low = measured->low_95 * per_unit;
      dot.high = measured->high_95 * per_unit;
    }
    const auto judgement = std::find_if(trial.result.criteria.begin(), trial.result.criteria.end(), [&](const auto& one) {
      return one.criterion.kind == analysis::Criterion::Kind::metric && one.criterion.metric == metric;
    });
    if (judgement == trial.result.criteria.end()) continue;
    lower_ = judgement->criterion.lower ? std::optional{*judgement->criterion.lower * per_unit} : std::nullopt;
    upper_ = judgement->criterion.upper ? std::optional{*judgement->criterion.upper * per_unit} : std::nullopt;
  }
  fitRange();
  update();
}

void DotStrip::choose(qlonglong number) {
  chosen_ = number;
  update();
}

// The axis holds the limits and what the bulk of the trials do. One value far off (a decision seconds late) would flatten all
// others: it is drawn on the edge with an arrow and its number.
void DotStrip::fitRange() {
  std::vector<double> values;
  for (const Dot& dot : dots_)
    if (dot.value && std::isfinite(*dot.value)) values.push_back(*dot.value);
  if (values.empty() && !lower_ && !upper_) {
    range_ = AxisRange{};
    return;
  }
  double low = 1.0e300, high = -1.0e300;
  const auto take = [&](double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  };
  if (lower_) take(*lower_);
  if (upper_) take(*upper_);
  if (!values.empty()) {
    const double middle = median(values);
    std::vector<double> away;
    away.reserve(values.size());
    for (const double value : values) away.push_back(std::abs(value - middle));
    const double reach = kFarOff * std::max(median(away), 1.0e-3 * std::abs(middle));
    const double from = std::min(low, middle) - reach, to = std::max(high, middle) + reach;
    for (const double value : values)
      if (value >= from && value <= to) take(value);
    take(middle);
  }
  const double room = 0.08 * (high - low);
  range_ = axis_range(low - room, high + room, 4);
}

QRectF DotStrip::area() const {
  return {kPlotLeft, kTop, std::floor(width() - kPlotLeft - kPlotRight), std::floor(height() - kTop - kPlotBottom)};
}

AxisRange DotStrip::trialAxis() const {
  if (dots_.empty()) return {0.0, 1.0, 1.0};
  const double low = static_cast<double>(dots_.front().number) - 0.7, high = static_cast<double>(dots_.back().number) + 0.7;
  AxisRange axis = axis_steps(low, high, 12);
  axis.step = std::max(1.0, axis.step);
  return axis;
}

QPointF DotStrip::place(const Dot& dot) const {
  const AxisRange axis = trialAxis();
  const QRectF field = area();
  const double x = field.left() + field.width() * (static_cast<double>(dot.number) - axis.low) / (axis.high - axis.low);
  if (!dot.value) return {x, field.bottom() - 6.0};
  return {x, y(std::clamp(*dot.value, range_.low, range_.high))};
}

double DotStrip::y(double value) const {
  return area().bottom() - area().height() * (value - range_.low) / (range_.high - range_.low);
}

const DotStrip::Dot* DotStrip::nearest(const QPointF& at) const {
  const Dot* best = nullptr;
  double best_distance = kReach;
  for (const Dot& dot : dots_) {
    const QPointF away = place(dot) - at;
    const double distance = std::hypot(away.x(), away.y());
    if (distance >= best_distance) continue;
    best = &dot;
    best_distance = distance;
  }
  return best;
}

void DotStrip::mousePressEvent(QMouseEvent* event) {
  if (const Dot* dot = nearest(event->position())) {
    choose(dot->number);
    Q_EMIT chosen(dot->number);
  }
}

void DotStrip::mouseDoubleClickEvent(QMouseEvent* event) {
  if (const Dot* dot = nearest(event->position())) Q_EMIT opened(dot->number);
}

bool DotStrip::event(QEvent* event) {
  if (event->type() == QEvent::ToolTip) {
    const auto* help = static_cast<QHelpEvent*>(event);
    const Dot* dot = nearest(help->pos());
    const QString value = dot == nullptr || !dot->value
                              ? tr("absent")
                              : text(with_uncertainty(*dot->value, 0.5 * (*dot->high - *dot->low))) + " " + unit_;
    if (dot == nullptr)
      QToolTip::hideText();
    else
      QToolTip::showText(help->globalPos(), tr("trial %1: %2, %3").arg(dot->number).arg(verdict_label(dot->verdict), value));
    return true;
  }
  return QWidget::event(event);
}

void DotStrip::paintLimits(QPainter& painter, const Look& look) const {
  const QRectF field = area();
  const auto line = [&](const std::optional<double>& limit, const QString& word, bool above) {
    if (!limit) return;
    const double y = this->y(*limit);
    painter.setPen(QPen{look.ink, 1.0, Qt::DashLine});
    painter.drawLine(QPointF{field.left(), y}, QPointF{field.right(), y});
    const QString words = word + " " + text(limit_number(*limit)) + " " + unit_;
    painter.setFont(type(kBodyPt));
    QRectF place =
        painter.boundingRect(QRectF{field.left(), above ? y - 17.0 : y + 2.0, field.width() - 4.0, 15.0}, Qt::AlignRight, words);
    painter.fillRect(place, look.sheet);
    painter.drawText(place, words);
  };
  line(upper_, tr("upper limit"), true);
  line(lower_, tr("lower limit"), false);
}

void DotStrip::paintDot(QPainter& painter, const Dot& dot, const Look& look) const {
  const QPointF at = place(dot);
  const bool above = dot.value && *dot.value > range_.high, below = dot.value && *dot.value < range_.low;
  if (above || below) {
    painter.setPen(look.ink);
    painter.setFont(type(kBodyPt));
    const QString words = (above ? QStringLiteral("↑ ") : QStringLiteral("↓ ")) + text(significant(*dot.value, 3)) + " " + unit_;
    const double advance = QFontMetricsF{painter.font()}.horizontalAdvance(words);
    const bool leftwards = at.x() + 10.0 + advance > area().right();
    painter.drawText(QPointF{leftwards ? at.x() - 10.0 - advance : at.x() + 10.0, at.y() + 4.0}, words);
  } else if (dot.low && dot.high) {
    painter.setPen(QPen{look.muted, 1.0});
    painter.drawLine(QPointF{at.x(), y(*dot.low)}, QPointF{at.x(), y(*dot.high)});
  }
  paint_shape(painter, at, dot.verdict, look);
  if (chosen_ == dot.number) {
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen{look.ink, 1.5});
    painter.drawEllipse(at, 10.0, 10.0);
  }
}

void DotStrip::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  if (dots_.empty()) {
    painter.fillRect(rect(), look.sheet);
    painter.setPen(look.muted);
    painter.drawText(rect(), Qt::AlignCenter, tr("No trial yet."));
    return;
  }
  painter.drawPixmap(0, 0, frame_.picture(size(), devicePixelRatioF(), {{range_, area()}}, trialAxis(), look));
  painter.setPen(look.ink);
  painter.setFont(type(kBodyPt, true));
  painter.drawText(QRectF{kPlotLeft, 2.0, 400.0, 20.0}, Qt::AlignLeft | Qt::AlignVCenter,
                   title_ + (unit_.isEmpty() ? QString{} : ", " + unit_));
  paintLimits(painter, look);
  painter.setRenderHint(QPainter::Antialiasing);
  for (const Dot& dot : dots_) paintDot(painter, dot, look);
  painter.setFont(type(kBodyPt));
  double right = width() - kPlotRight;
  for (const auto& [verdict, words] :
       {std::pair{"not judged", tr("not judged")}, {"void", tr("void")}, {"fail", tr("fail")}, {"pass", tr("pass")}}) {
    const double advance = QFontMetricsF{painter.font()}.horizontalAdvance(words);
    painter.setPen(look.ink);
    painter.drawText(QPointF{right - advance, 17.0}, words);
    paint_shape(painter, {right - advance - 11.0, 12.5}, verdict, look);
    right -= advance + 34.0;
  }
}

}  // namespace coldstroke::gui
