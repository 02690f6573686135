// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/hand_steps_panel.hpp"

#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

HandStepsPanel::HandStepsPanel(QWidget* parent) : QLabel{parent} {
  setObjectName("hand_steps");
  setWordWrap(true);
  setTextFormat(Qt::PlainText);
  setContentsMargins(4, 4, 4, 4);
  hide();
}

QString HandStepsPanel::words(const daq::BenchView& view) {
  QStringList lines;
  bool now = true;  // the first step that is not proven is the one to do
  for (std::size_t k = 0; k < view.hand_steps.size(); ++k) {
    const daq::HandStep& step = view.hand_steps[k];
    const QString mark = step.proven ? QStringLiteral("✓") : now ? QStringLiteral("►") : QStringLiteral("·");
    if (!step.proven) now = false;
    lines += tr("%1 %2. %3: %4").arg(mark).arg(k + 1).arg(gui::text(step.what), gui::text(step.proof));
  }
  if (!lines.isEmpty()) lines.prepend(tr("By hand, in this order:"));
  if (!view.lacking_protections.empty() && (view.step == daq::Step::idle || view.step == daq::Step::checks)) {
    lines += tr("This rig has hand valves, so:");
    for (const std::string& lack : view.lacking_protections) lines += "– " + gui::text(lack);
  }
  return lines.join('\n');
}

void HandStepsPanel::show(const daq::BenchView& view) {
  const QString now = words(view);
  put(this, now);
  setVisible(!now.isEmpty());
}

}  // namespace coldstroke::gui
