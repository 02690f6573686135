// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/interlock_list.hpp"

#include <QPainter>
#include <algorithm>

#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kMark = 24, kNameHeight = 20, kPad = 4;

bool same(const daq::InterlockLine& a, const daq::InterlockLine& b) {
  return a.name == b.name && a.reading == b.reading && a.limit == b.limit && a.remedy == b.remedy && a.holds == b.holds &&
         a.fresh == b.fresh && a.bypassable == b.bypassable && a.bypass_reason == b.bypass_reason && a.aborts == b.aborts;
}

// The bench writes remedies as clauses.
QString sentence(QString words) {
  if (!words.isEmpty()) words[0] = words[0].toUpper();
  return words.endsWith('.') ? words : words + ".";
}

// What blocks stands first, then what a person chose to go on without, then what holds.
int rank(const daq::InterlockLine& line) { return line.holds ? 2 : line.bypass_reason.empty() ? 0 : 1; }

// One that holds: its reading and, in brackets, what it must be.
QString holding_words(const daq::InterlockLine& line) {
  const QString words = text(line.name) + ": " + text(line.reading);
  return line.limit.empty() || line.limit == line.reading ? words : words + " (" + text(line.limit) + ")";
}

int words_height(const QString& words, int width) {
  const QFontMetrics metrics{type(kBodyPt)};
  return metrics.boundingRect(QRect{0, 0, width, 10000}, Qt::TextWordWrap, words).height();
}

}  // namespace

InterlockList::InterlockList(QWidget* parent) : QWidget{parent} {
  setObjectName("interlocks");
  setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Fixed);
}

QString InterlockList::why(const daq::InterlockLine& line) {
  QString words = line.fresh ? tr("reads %1").arg(text(line.reading)) : tr("no fresh reading, last %1").arg(text(line.reading));
  if (!line.limit.empty()) words += tr("; must be %1").arg(text(line.limit));
  words += ".";
  if (!line.remedy.empty()) words += " " + sentence(text(line.remedy));
  if (!line.bypass_reason.empty()) return words + " " + tr("BYPASSED for this trial: %1.").arg(text(line.bypass_reason));
  if (line.aborts) words += " " + tr("Aborts and vents.");
  return words;
}

void InterlockList::show(const std::vector<daq::InterlockLine>& lines) {
  std::vector<daq::InterlockLine> ordered = lines;
  std::ranges::stable_sort(ordered, {}, rank);
  if (std::equal(ordered.begin(), ordered.end(), lines_.begin(), lines_.end(), same)) return;
  lines_ = std::move(ordered);
  QString spoken;
  for (const auto& line : lines_)
    if (!line.holds) spoken += text(line.name) + ": " + why(line) + " ";
  setAccessibleName(spoken.isEmpty() ? tr("Every interlock holds") : spoken);
  setFixedHeight(heightAt(width()));
  update();
}

int InterlockList::lineHeight(const daq::InterlockLine& line, int width) const {
  if (line.holds) return std::max(kNameHeight, words_height(holding_words(line), width - kMark)) + 2;
  return words_height(text(line.name), width - kMark) + 3 + words_height(why(line), width - kMark) + 2 * kPad;
}

int InterlockList::heightAt(int width) const {
  int height = 0;
  for (const auto& line : lines_) height += lineHeight(line, std::max(100, width)) + 2;
  return std::max(height, kNameHeight);
}

void InterlockList::resizeEvent(QResizeEvent*) { setFixedHeight(heightAt(width())); }

void InterlockList::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  if (lines_.empty()) {
    painter.setPen(look.muted);
    painter.drawText(rect(), Qt::AlignVCenter | Qt::AlignLeft, tr("nothing to wait for in this step"));
  }
  int top = 0;
  for (const auto& line : lines_) {
    const int height = lineHeight(line, width());
    const Meaning meaning = line.holds ? Meaning::none : line.fresh ? Meaning::abnormal : Meaning::unknown;
    const QRect mark{0, top, kMark - 6, line.holds ? std::min(height, kNameHeight) : height};
    if (!line.holds) paint_field(painter, mark, meaning, look);
    painter.setPen(look.text_on(meaning));
    painter.setFont(type(kBodyPt, true));
    painter.drawText(mark, Qt::AlignCenter, line.holds ? "✓" : !line.bypass_reason.empty() ? "!" : line.fresh ? "✗" : "?");
    const QRect words{kMark, top, width() - kMark, height};
    if (line.holds) {
      painter.setFont(type(kBodyPt));
      painter.setPen(look.ink);
      painter.drawText(words.adjusted(0, 2, 0, 0), Qt::TextWordWrap, holding_words(line));
    } else {
      painter.setFont(type(kBodyPt, true));
      painter.setPen(look.ink);
      painter.drawText(words.adjusted(0, kPad, 0, 0), Qt::TextWordWrap, text(line.name));
      painter.setFont(type(kBodyPt));
      painter.drawText(words.adjusted(0, kPad + words_height(text(line.name), width() - kMark) + 3, 0, 0), Qt::TextWordWrap,
                       why(line));
    }
    top += height + 2;
  }
}

}  // namespace coldstroke::gui
