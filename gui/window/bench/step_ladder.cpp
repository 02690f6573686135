// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/step_ladder.hpp"

#include <QPainter>
#include <algorithm>

#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {
constexpr int kStepHeight = 25;
}

StepLadder::StepLadder(QWidget* parent) : QWidget{parent} {
  setObjectName("step_ladder");
  setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Fixed);
}

QSize StepLadder::sizeHint() const { return {170, kStepHeight * (static_cast<int>(steps_.size()) + 1)}; }

bool StepLadder::beside(daq::Step step) {
  return step == daq::Step::idle || step == daq::Step::aborting || step == daq::Step::keep_clear || step == daq::Step::locked_out;
}

void StepLadder::show(const daq::BenchView& view) {
  std::vector<daq::StepLine> steps = view.ladder;
  daq::StepLine aside;
  if (beside(view.step)) {
    aside = {daq::word(view.step), daq::StepLine::State::now, {}};
    // The bench puts a step beside the ladder behind its last line.
    if (!steps.empty() && steps.back().name == aside.name) {
      aside = steps.back();
      steps.pop_back();
    }
  }
  const auto alike = [](const daq::StepLine& a, const daq::StepLine& b) {
    return a.name == b.name && a.state == b.state && a.remark == b.remark;
  };
  if (alike(aside, beside_) && std::ranges::equal(steps, steps_, alike)) return;
  const bool resized = steps.size() != steps_.size();
  steps_ = std::move(steps);
  beside_ = std::move(aside);
  QString spoken = tr("Steps:");
  for (const auto& step : steps_)
    if (step.state == daq::StepLine::State::now) spoken += " " + tr("now %1 %2").arg(text(step.name), text(step.remark));
  if (!beside_.name.empty()) spoken += " " + tr("now %1 %2").arg(text(beside_.name), text(beside_.remark));
  setAccessibleName(spoken);
  if (resized) updateGeometry();
  update();
}

void StepLadder::paintLine(QPainter& painter, int top, const QString& number, const daq::StepLine& step) {
  const Look& look = look_of(this);
  const QRect line{0, top, width(), kStepHeight};
  const bool now = step.state == daq::StepLine::State::now, done = step.state == daq::StepLine::State::done;
  if (now) {
    painter.fillRect(line, look.sheet);
    painter.fillRect(QRect{0, top, 4, kStepHeight}, look.ink);
  }
  painter.setPen(now || done ? look.ink : look.muted);
  painter.setFont(type(kHeadingPt, now));
  painter.drawText(line.adjusted(12, 0, 0, 0), Qt::AlignVCenter | Qt::AlignLeft, number + "  " + text(step.name));
  const QString remark = done && step.remark.empty() ? tr("✓ done") : text(step.remark);
  const int free = width() - 28 - painter.fontMetrics().horizontalAdvance(number + "  " + text(step.name));
  painter.setFont(type(kBodyPt, now));
  // A remark in words, longer than the line has room for, stands in the line beside the ladder.
  const bool fits = painter.fontMetrics().horizontalAdvance(remark) <= free;
  const QRect place = fits ? line : QRect{0, kStepHeight * static_cast<int>(steps_.size()), width(), kStepHeight};
  painter.drawText(place.adjusted(0, 0, -8, 0), Qt::AlignVCenter | Qt::AlignRight, remark);
  painter.fillRect(QRect{0, top + kStepHeight - 1, width(), 1}, look.line);
}

void StepLadder::paintEvent(QPaintEvent*) {
  QPainter painter{this};
  int top = 0;
  for (std::size_t k = 0; k < steps_.size(); ++k, top += kStepHeight) paintLine(painter, top, QString::number(k + 1), steps_[k]);
  if (!beside_.name.empty()) paintLine(painter, top, QStringLiteral("▪"), beside_);
}

}  // namespace coldstroke::gui
