// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/keep_clear_page.hpp"

#include <QHBoxLayout>
#include <QLabel>
#include <QPainter>
#include <QPushButton>
#include <QScrollArea>
#include <QVBoxLayout>
#include <cmath>

#include "gui/window/bench/hand_steps_panel.hpp"
#include "gui/window/bench/hold_button.hpp"
#include "gui/window/bench/interlock_list.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kBorder = 14;
constexpr int kAlarmMilliseconds = 2000;
constexpr std::size_t kLogLines = 6;

QString minutes(double seconds) {
  const int whole = static_cast<int>(std::ceil(std::max(0.0, seconds)));
  return QStringLiteral("%1:%2").arg(whole / 60).arg(whole % 60, 2, 10, QLatin1Char{'0'});
}

QString order_words(daq::Step step) {
  if (step == daq::Step::locked_out) return QObject::tr("LOCKED OUT. Nobody goes to the rig or the vehicle.");
  return QObject::tr("Nobody goes to the rig. Everybody stays behind the line.");
}

}  // namespace

KeepClearPage::KeepClearPage(QWidget* parent) : QWidget{parent} {
  setObjectName("keep_clear_page");
  setFocusPolicy(Qt::StrongFocus);
  const auto label = [](const char* name, double points, bool bold) {
    QLabel* made = wrapped_label(name);
    made->setFont(type(points, bold));
    return made;
  };
  order_ = label("keep_clear_order", 20.0, true);
  why_ = label("keep_clear_why", kReadoutPt, false);
  wait_ = label("keep_clear_wait", kReadoutPt, true);
  why_not_ = label("keep_clear_why_not", kHeadingPt, false);
  log_ = label("keep_clear_log", kBodyPt, false);
  hand_steps_ = new HandStepsPanel;
  interlocks_ = new InterlockList;
  interlocks_->setObjectName("keep_clear_interlocks");
  next_ = new HoldButton;
  next_->setObjectName("keep_clear_next");
  next_->setMaximumWidth(480);
  connect(next_, &HoldButton::confirmed, this, [this] { Q_EMIT requested(request_); });
  silence_ = new QPushButton{tr("Silence the alarm")};
  silence_->setObjectName("silence");
  silence_->setCheckable(true);
  silence_->setMaximumWidth(200);
  auto* inside = new QWidget;
  auto* column = new QVBoxLayout{inside};
  column->setContentsMargins(24, 16, 24, 16);
  column->setSpacing(10);
  for (QWidget* one :
       std::initializer_list<QWidget*>{order_, why_, wait_, hand_steps_, heading_label(tr("What must hold before anybody moves")),
                                       interlocks_, next_, why_not_, silence_, log_})
    column->addWidget(one);
  column->addStretch(1);
  auto* area = new QScrollArea;
  area->setFrameShape(QFrame::NoFrame);
  area->setWidgetResizable(true);
  area->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  area->setFocusPolicy(Qt::NoFocus);
  area->setWidget(inside);
  auto* whole = new QVBoxLayout{this};
  whole->setContentsMargins(kBorder, kBorder, kBorder, kBorder);
  whole->addWidget(area);
  timer_.setInterval(kAlarmMilliseconds);
  connect(&timer_, &QTimer::timeout, this, [this] {
    if (!silence_->isChecked()) Q_EMIT alarm();
  });
}

void KeepClearPage::show(const daq::BenchView& view) {
  put(order_, order_words(view.step));
  put(why_, text(view.alarm));
  put(wait_, view.keep_clear_seconds ? tr("Wait %1 more").arg(minutes(*view.keep_clear_seconds)) : tr("The wait has run down."));
  hand_steps_->show(view);
  interlocks_->show(view.interlocks);
  request_ = view.next.request;
  next_->setAction(text(view.next.label), view.next.hold);
  next_->setEnabled(view.next.enabled && request_ != daq::OperatorRequest::none);
  put(why_not_, view.next.enabled || view.next.why_not.empty() ? QString{} : tr("Not yet: %1").arg(text(view.next.why_not)));
  QStringList lines;
  for (std::size_t k = view.log.size() - std::min(kLogLines, view.log.size()); k < view.log.size(); ++k)
    lines += text(view.log[k].clock_time) + "  " + text(view.log[k].text);
  put(log_, lines.join('\n'));
}

void KeepClearPage::paintEvent(QPaintEvent*) {
  QPainter painter{this};
  painter.fillRect(rect(), look_of(this).danger);
}

void KeepClearPage::showEvent(QShowEvent*) {
  silence_->setChecked(false);  // each alarm is heard anew
  Q_EMIT alarm();
  timer_.start();
}

void KeepClearPage::hideEvent(QHideEvent*) { timer_.stop(); }

}  // namespace coldstroke::gui
