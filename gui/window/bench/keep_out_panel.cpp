// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/keep_out_panel.hpp"

#include <QPainter>

#include "gui/report/figures.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kPad = 6, kHeadHeight = 22;

QString metres(double value) { return text(decimal(value, 1)) + QStringLiteral(" m"); }

int words_height(const QString& words, int width) {
  return QFontMetrics{type(kBodyPt)}.boundingRect(QRect{0, 0, width, 10000}, Qt::TextWordWrap, words).height();
}

}  // namespace

QString energy_words(double joules) {
  if (joules >= 1.0e6) return text(significant(joules * 1.0e-6, 3)) + QStringLiteral(" MJ");
  return joules >= 1.0e3 ? text(significant(joules * 1.0e-3, 3)) + QStringLiteral(" kJ")
                         : text(significant(joules, 3)) + QStringLiteral(" J");
}

QStringList keep_out_lines(const daq::KeepOut& k) {
  QStringList lines;
  for (const std::string& warning : k.warnings) lines += QStringLiteral("✗ ") + text(warning);
  lines += QObject::tr("needed %1").arg(metres(k.needed_metres));
  lines += k.supply_joules
               ? QObject::tr("stored %1, bottle %2").arg(energy_words(k.reservoir_joules), energy_words(*k.supply_joules))
               : QObject::tr("stored %1").arg(energy_words(k.reservoir_joules));
  lines += k.floor_metres ? QObject::tr("floor %1, scaled distance %2").arg(metres(*k.floor_metres), metres(k.scaled_metres))
                          : QObject::tr("no published floor, scaled distance %1").arg(metres(k.scaled_metres));
  lines += QObject::tr("reach %1 at %2 m/s").arg(metres(k.reach_metres), text(decimal(k.exit_speed_bound_mps, 1)));
  if (!k.edition.empty()) lines += text(k.edition);
  return lines;
}

KeepOutPanel::KeepOutPanel(QWidget* parent) : QWidget{parent} {
  setObjectName("keep_out");
  setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Fixed);
  setToolTip(
      tr("Stored energy of the reservoir at the maximum pressure, and of the bottle inside the line, by the published formula; "
         "the greatest of floor, scaled distance and reach with its margin is what is needed. The range officer decides."));
}

void KeepOutPanel::show(const daq::KeepOut& k) {
  const bool warns = !k.warnings.empty();
  const QString headline = (warns ? tr("✗ keep-out %1") : tr("✓ keep-out %1")).arg(metres(k.configured_metres));
  const QString words = keep_out_lines(k).join('\n');
  if (words == words_ && headline == headline_) return;
  headline_ = headline;
  words_ = words;
  warns_ = warns;
  setAccessibleName(tr("Keep-out %1. %2").arg(headline_, words_));
  setFixedHeight(heightAt(width()));
  update();
}

int KeepOutPanel::heightAt(int width) const { return kHeadHeight + words_height(words_, std::max(60, width - kPad)) + 2 * kPad; }

void KeepOutPanel::resizeEvent(QResizeEvent*) { setFixedHeight(heightAt(width())); }

void KeepOutPanel::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  painter.setFont(type(kBodyPt, true));
  const QRect head{0, 0, width(), kHeadHeight};
  if (warns_) paint_field(painter, head, Meaning::abnormal, look);
  painter.setPen(warns_ ? look.text_on(Meaning::abnormal) : look.ink);
  painter.drawText(head.adjusted(kPad, 0, 0, 0), Qt::AlignVCenter | Qt::AlignLeft, headline_);
  painter.setPen(look.ink);
  painter.setFont(type(kBodyPt));
  painter.drawText(QRect{kPad, kHeadHeight + 2, width() - kPad, height() - kHeadHeight}, Qt::TextWordWrap, words_);
}

}  // namespace coldstroke::gui
