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

QSize StepLadder::sizeHint() const { return {170, kStepHeight * static_cast<int>(std::max<std::size_t>(1, steps_.size()))}; }

void StepLadder::show(const std::vector<daq::StepLine>& steps) {
  const bool same = std::equal(steps.begin(), steps.end(), steps_.begin(), steps_.end(), [](const auto& a, const auto& b) {
    return a.name == b.name && a.state == b.state && a.remark == b.remark;
  });
  if (same) return;
  const bool resized = steps.size() != steps_.size();
  steps_ = steps;
  QString spoken = tr("Steps:");
  for (const auto& step : steps_)
    if (step.state == daq::StepLine::State::now) spoken += " " + tr("now %1 %2").arg(text(step.name), text(step.remark));
  setAccessibleName(spoken);
  if (resized) updateGeometry();
  update();
}

void StepLadder::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  int top = 0;
  for (std::size_t k = 0; k < steps_.size(); ++k, top += kStepHeight) {
    const daq::StepLine& step = steps_[k];
    const QRect line{0, top, width(), kStepHeight};
    const bool now = step.state == daq::StepLine::State::now, done = step.state == daq::StepLine::State::done;
    if (now) {
      painter.fillRect(line, look.sheet);
      painter.fillRect(QRect{0, top, 4, kStepHeight}, look.ink);
    }
    painter.setPen(now || done ? look.ink : look.muted);
    painter.setFont(type(kHeadingPt, now));
    painter.drawText(line.adjusted(12, 0, 0, 0), Qt::AlignVCenter | Qt::AlignLeft,
                     QStringLiteral("%1  %2").arg(k + 1).arg(text(step.name)));
    const QString remark = done && step.remark.empty() ? tr("✓ done") : text(step.remark);
    painter.setFont(type(kBodyPt, now));
    painter.drawText(line.adjusted(0, 0, -8, 0), Qt::AlignVCenter | Qt::AlignRight, remark);
    painter.fillRect(QRect{0, top + kStepHeight - 1, width(), 1}, look.line);
  }
}

}  // namespace coldstroke::gui
