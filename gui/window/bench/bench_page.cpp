// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/bench_page.hpp"

#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QScrollArea>
#include <QScrollBar>
#include <QStackedWidget>
#include <QVBoxLayout>
#include <algorithm>

#include "gui/window/bench/bypass_panel.hpp"
#include "gui/window/bench/checklist_panel.hpp"
#include "gui/window/bench/countdown.hpp"
#include "gui/window/bench/hand_steps_panel.hpp"
#include "gui/window/bench/hold_button.hpp"
#include "gui/window/bench/interlock_list.hpp"
#include "gui/window/bench/keep_out_panel.hpp"
#include "gui/window/bench/link_panel.hpp"
#include "gui/window/bench/step_ladder.hpp"
#include "gui/window/label.hpp"
#include "gui/window/verdict_chip.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kRoomForAll = 960;  // narrower pages show the checklist instead of the right column

// A column that scrolls when the window is low, without a frame of its own.
QScrollArea* scrolling(QWidget* inside, int width) {
  auto* area = new QScrollArea;
  area->setFrameShape(QFrame::NoFrame);
  area->setWidgetResizable(true);
  area->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  area->setWidget(inside);
  if (width > 0) area->setFixedWidth(width);
  area->setFocusPolicy(Qt::NoFocus);
  return area;
}

}  // namespace

BenchPage::BenchPage(QWidget* parent) : QWidget{parent} {
  setObjectName("bench_page");
  setFocusPolicy(Qt::ClickFocus);
  auto* row = new QHBoxLayout{this};
  row->setContentsMargins(8, 8, 8, 8);
  row->setSpacing(8);
  row->addWidget(makeLeft());
  row->addWidget(makeMiddle(), 1);
  right_ = makeRight();
  row->addWidget(right_);
}

QWidget* BenchPage::makeLeft() {
  auto* inside = new QWidget;
  auto* column = new QVBoxLayout{inside};
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(8);
  ladder_ = new StepLadder;
  next_ = new HoldButton;
  connect(next_, &HoldButton::confirmed, this, [this] { Q_EMIT requested(request_); });
  why_not_ = wrapped_label("why_not");
  last_verdict_ = new VerdictChip;
  last_verdict_->setObjectName("last_verdict");
  last_sentence_ = wrapped_label("last_sentence");
  open_last_ = new QPushButton{tr("Open it")};
  open_last_->setObjectName("open_last");
  connect(open_last_, &QPushButton::clicked, this, [this] { Q_EMIT trialWanted(last_number_); });
  column->addWidget(ladder_);
  countdown_ = new Countdown;
  connect(countdown_, &Countdown::second, this, &BenchPage::secondCounted);
  column->addWidget(countdown_);
  column->addWidget(next_);
  column->addWidget(why_not_);
  column->addStretch(1);
  keep_out_ = new KeepOutPanel;
  column->addWidget(keep_out_);
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
  hand_steps_ = new HandStepsPanel;
  auto* with_traces = new QWidget;
  auto* traces_column = new QVBoxLayout{with_traces};
  traces_column->setContentsMargins(0, 0, 0, 0);
  checklist_button_ = new QPushButton{tr("Show the checklist")};
  checklist_button_->setObjectName("show_checklist");
  checklist_button_->hide();
  connect(checklist_button_, &QPushButton::clicked, this, [this] { turnTo(kChecklist); });
  traces_column->addWidget(checklist_button_);
  traces_column->addWidget(traces_, 1);
  middle_ = new QStackedWidget;
  middle_->addWidget(with_traces);
  middle_->addWidget(makeChecklist());
  column->addWidget(hand_steps_);
  column->addWidget(middle_, 1);
  column->addWidget(log_);
  column->addWidget(note_);
  return inside;
}

QWidget* BenchPage::makeChecklist() {
  checklist_ = new ChecklistPanel;
  connect(checklist_, &ChecklistPanel::signatureGiven, this, &BenchPage::signatureGiven);
  connect(checklist_, &ChecklistPanel::targetTyped, this, &BenchPage::targetTyped);
  connect(checklist_, &ChecklistPanel::tracesWanted, this, [this] { turnTo(kTraces); });
  QScrollArea* area = scrolling(checklist_, 0);
  area->setMinimumWidth(200);
  area->setMaximumWidth(QWIDGETSIZE_MAX);
  return area;
}

QWidget* BenchPage::makeRight() {
  auto* inside = new QWidget;
  auto* column = new QVBoxLayout{inside};
  column->setContentsMargins(0, 0, 4, 0);
  column->setSpacing(6);
  interlocks_ = new InterlockList;
  links_ = new LinkPanel;
  column->addWidget(heading_label(tr("What must hold")));
  column->addWidget(interlocks_);
  bypass_ = new BypassPanel;
  connect(bypass_, &BypassPanel::bypassWanted, this, &BenchPage::bypassWanted);
  column->addWidget(bypass_);
  column->addSpacing(8);
  column->addWidget(heading_label(tr("Links")));
  column->addWidget(links_);
  column->addStretch(1);
  return scrolling(inside, 256);
}

void BenchPage::setSetup(const daq::Setup& setup) { checklist_->setSetup(setup); }

void BenchPage::keepDraft() {
  const QString words = note_->text().trimmed();
  note_->clear();
  if (!words.isEmpty()) Q_EMIT noteWritten(words);
}

void BenchPage::show(const daq::BenchView& view) {
  ladder_->show(view);
  showNext(view);
  showCountdown(view);
  keep_out_->show(view.keep_out);
  keep_out_->setVisible(!view.countdown_seconds && view.keep_out.configured_metres > 0.0);
  hand_steps_->show(view);
  showChecklist(view);
  bypass_->show(view.interlocks);
  showLast(view);
  showLog(view);
  interlocks_->show(view.interlocks);
  links_->show(view.links);
  traces_->show(view);
}

// The list comes by itself when it is to be signed and goes when everything on it is done; a person may turn to the traces
// meanwhile.
void BenchPage::showChecklist(const daq::BenchView& view) {
  checklist_->show(view);
  const bool wanted = ChecklistPanel::unfinished(view);
  if (wanted != checklist_wanted_) turnTo(wanted ? kChecklist : kTraces);
  checklist_wanted_ = wanted;
  checklist_button_->setVisible(view.checklist.open);
  shareRoom();
}

// In the place of the next action: while it counts there is none but to abort.
void BenchPage::showCountdown(const daq::BenchView& view) {
  const bool counting = view.countdown_seconds.has_value();
  if (counting && next_->hasFocus()) {
    next_had_focus_ = true;
    setFocus();
  }
  next_->setVisible(!counting);
  countdown_->show(view.countdown_seconds);
  if (!counting && next_had_focus_) {
    next_had_focus_ = false;
    if (hasFocus()) next_->setFocus();
  }
}

// The list needs the room of the right column where the window is small; what blocks still stands under the next action.
void BenchPage::shareRoom() { right_->setVisible(width() >= kRoomForAll || middle_->currentIndex() == kTraces); }

void BenchPage::turnTo(Middle what) {
  middle_->setCurrentIndex(what);
  shareRoom();
}

void BenchPage::resizeEvent(QResizeEvent*) { shareRoom(); }

void BenchPage::showNext(const daq::BenchView& view) {
  request_ = view.next.request;
  const QString words = view.next.label.empty() ? tr("Nothing to do") : text(view.next.label);
  const bool enabled = view.next.enabled && request_ != daq::OperatorRequest::none;
  const QString why = enabled || view.next.why_not.empty() ? QString{} : tr("Not yet: %1").arg(text(view.next.why_not));
  next_->setAction(words, view.next.hold);
  next_->setEnabled(enabled);
  put(why_not_, why);
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
