// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/bench_page.hpp"

#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QScrollArea>
#include <QScrollBar>
#include <QVBoxLayout>
#include <algorithm>

#include "gui/window/bench/hold_button.hpp"
#include "gui/window/bench/interlock_list.hpp"
#include "gui/window/bench/link_panel.hpp"
#include "gui/window/bench/step_ladder.hpp"
#include "gui/window/verdict_chip.hpp"

namespace coldstroke::gui {
namespace {

QLabel* heading(const QString& words) {
  auto* label = new QLabel{words};
  label->setFont(type(kHeadingPt, true));
  return label;
}

QLabel* wrapped(const char* name) {
  auto* label = new QLabel;
  label->setObjectName(name);
  label->setWordWrap(true);
  label->setTextFormat(Qt::PlainText);
  label->setAlignment(Qt::AlignTop | Qt::AlignLeft);
  return label;
}

void put(QLabel* label, const QString& words) {
  if (label->text() != words) label->setText(words);
}

// A column that scrolls when the window is low, without a frame of its own.
QScrollArea* scrolling(QWidget* inside, int width) {
  auto* area = new QScrollArea;
  area->setFrameShape(QFrame::NoFrame);
  area->setWidgetResizable(true);
  area->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  area->setWidget(inside);
  area->setFixedWidth(width);
  area->setFocusPolicy(Qt::NoFocus);
  return area;
}

}  // namespace

BenchPage::BenchPage(QWidget* parent) : QWidget{parent} {
  setObjectName("bench_page");
  auto* row = new QHBoxLayout{this};
  row->setContentsMargins(8, 8, 8, 8);
  row->setSpacing(8);
  row->addWidget(makeLeft());
  row->addWidget(makeMiddle(), 1);
  row->addWidget(makeRight());
}

QWidget* BenchPage::makeLeft() {
  auto* inside = new QWidget;
  auto* column = new QVBoxLayout{inside};
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(8);
  ladder_ = new StepLadder;
  next_ = new HoldButton;
  connect(next_, &HoldButton::confirmed, this, [this] { Q_EMIT requested(request_); });
  why_not_ = wrapped("why_not");
  last_verdict_ = new VerdictChip;
  last_verdict_->setObjectName("last_verdict");
  last_sentence_ = wrapped("last_sentence");
  open_last_ = new QPushButton{tr("Open it")};
  open_last_->setObjectName("open_last");
  connect(open_last_, &QPushButton::clicked, this, [this] { Q_EMIT trialWanted(last_number_); });
  column->addWidget(ladder_);
  column->addWidget(next_);
  column->addWidget(why_not_);
  column->addStretch(1);
  column->addWidget(last_verdict_);
  column->addWidget(last_sentence_);
  column->addWidget(open_last_);
  return scrolling(inside, 208);
}

QWidget* BenchPage::makeMiddle() {
  auto* inside = new QWidget;
  auto* column = new QVBoxLayout{inside};
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(6);
  traces_ = new LiveTraces;
  log_ = new QPlainTextEdit;
  log_->setObjectName("log");
  log_->setReadOnly(true);
  log_->setFrameShape(QFrame::NoFrame);
  log_->setUndoRedoEnabled(false);
  log_->setFixedHeight(92);
  log_->setTabChangesFocus(true);
  log_->setAccessibleName(tr("Event log"));
  note_ = new QLineEdit;
  note_->setObjectName("bench_note");
  note_->setPlaceholderText(tr("Note to this trial; Enter keeps it"));
  connect(note_, &QLineEdit::returnPressed, this, &BenchPage::keepDraft);
  column->addWidget(traces_, 1);
  column->addWidget(log_);
  column->addWidget(note_);
  return inside;
}

QWidget* BenchPage::makeRight() {
  auto* inside = new QWidget;
  auto* column = new QVBoxLayout{inside};
  column->setContentsMargins(0, 0, 4, 0);
  column->setSpacing(6);
  interlocks_ = new InterlockList;
  links_ = new LinkPanel;
  column->addWidget(heading(tr("What must hold")));
  column->addWidget(interlocks_);
  column->addSpacing(8);
  column->addWidget(heading(tr("Links")));
  column->addWidget(links_);
  column->addStretch(1);
  return scrolling(inside, 256);
}

void BenchPage::keepDraft() {
  const QString words = note_->text().trimmed();
  note_->clear();
  if (!words.isEmpty()) Q_EMIT noteWritten(words);
}

void BenchPage::show(const daq::BenchView& view) {
  ladder_->show(view.ladder);
  showNext(view);
  showLast(view);
  showLog(view);
  interlocks_->show(view.interlocks);
  links_->show(view.links);
  traces_->show(view);
}

void BenchPage::showNext(const daq::BenchView& view) {
  request_ = view.next.request;
  const QString words = view.next.label.empty() ? tr("Nothing to do") : text(view.next.label);
  next_->setAction(words, view.next.hold);
  next_->setEnabled(view.next.enabled && view.next.request != daq::OperatorRequest::none);
  put(why_not_, view.next.enabled || view.next.why_not.empty() ? QString{} : tr("Not yet: %1").arg(text(view.next.why_not)));
}

void BenchPage::showLast(const daq::BenchView& view) {
  const bool any = view.last.has_value();
  open_last_->setVisible(any);
  last_verdict_->setVisible(any);
  last_sentence_->setVisible(any);
  if (!any) return;
  last_number_ = view.last->number;
  last_verdict_->show(view.last->verdict, tr("Trial %1: ").arg(view.last->number));
  put(last_sentence_, text(view.last->sentence));
}

void BenchPage::showLog(const daq::BenchView& view) {
  const auto same = [](const auto& a, const auto& b) { return a.clock_time == b.clock_time && a.text == b.text; };
  if (std::equal(view.log.begin(), view.log.end(), shown_log_.begin(), shown_log_.end(), same)) return;
  shown_log_ = view.log;
  QStringList lines;
  for (const auto& line : view.log) lines += text(line.clock_time) + "  " + text(line.text);
  QScrollBar* bar = log_->verticalScrollBar();
  const bool at_end = bar->value() == bar->maximum();
  const int place = bar->value();
  log_->setPlainText(lines.join('\n'));
  bar->setValue(at_end ? bar->maximum() : place);
}

}  // namespace coldstroke::gui
