// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/link_panel.hpp"

#include <QLabel>
#include <QVBoxLayout>

#include "gui/report/figures.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

QString state_words(const daq::LinkView& link) {
  if (!link.open) return QObject::tr("✗ port not open");
  if (!link.talking) return QObject::tr("✗ silent for %1").arg(text(age(link.age_seconds)));
  return QObject::tr("✓ talking");
}

QString detail_words(const daq::LinkView& link) {
  QString words;
  if (!link.trouble.empty()) words += text(link.trouble) + "\n";
  if (!link.identity.empty()) words += text(link.identity) + "\n";
  words += QObject::tr("%1 frames, %2").arg(text(grouped(link.counts.frames)), losses(link.counts));
  if (link.clock_uncertainty_seconds)
    words += QObject::tr("\nclock ±%1 ms").arg(text(significant(*link.clock_uncertainty_seconds * 1.0e3, 2)));
  if (link.clock_drift_ppm) words += QObject::tr(", drift %1 ppm").arg(text(decimal(*link.clock_drift_ppm, 1)));
  return words;
}

}  // namespace

QString losses(const wire::LineCounts& counts) {
  QStringList parts;
  for (std::size_t kind = 0; kind < wire::kFrameFaultKinds; ++kind)
    if (counts.faults[kind] > 0)
      parts +=
          QStringLiteral("%1 %2").arg(text(grouped(counts.faults[kind])), text(wire::word(static_cast<wire::FrameFault>(kind))));
  return parts.isEmpty() ? QObject::tr("nothing lost") : parts.join(", ");
}

LinkPanel::LinkPanel(QWidget* parent) : QWidget{parent} {
  setObjectName("links");
  auto* column = new QVBoxLayout{this};
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(2);
  for (std::size_t k = 0; k < 2; ++k) {
    state_[k] = new QLabel;
    state_[k]->setFont(type(kBodyPt, true));
    detail_[k] = new QLabel;
    detail_[k]->setWordWrap(true);
    detail_[k]->setTextFormat(Qt::PlainText);  // it may hold text from a board
    detail_[k]->setContentsMargins(0, 0, 0, 6);
    column->addWidget(state_[k]);
    column->addWidget(detail_[k]);
  }
}

void LinkPanel::show(const std::array<daq::LinkView, 2>& links) {
  for (std::size_t k = 0; k < 2; ++k) {
    put(state_[k], text(daq::word(static_cast<daq::Node>(k))) + "  " + state_words(links[k]));
    put(detail_[k], detail_words(links[k]));
  }
}

}  // namespace coldstroke::gui
