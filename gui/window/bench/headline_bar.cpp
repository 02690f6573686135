// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/headline_bar.hpp"

#include <QGridLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QPainter>
#include <algorithm>
#include <cmath>

#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kCompactBelow = 1100;  // narrower windows get smaller letters

// A shape beside the word, so that the state is not told by colour alone.
QString state_shape(daq::Headline headline, bool hidden) {
  if (hidden) return QStringLiteral("?");
  switch (headline) {
    case daq::Headline::safe:
      return QStringLiteral("✓");
    case daq::Headline::pressurised:
      return QStringLiteral("▲");
    case daq::Headline::release_enabled:
      return QStringLiteral("◆");
    case daq::Headline::recording:
      return QStringLiteral("●");
    case daq::Headline::venting:
      return QStringLiteral("▼");
    case daq::Headline::keep_clear:
      return QStringLiteral("✗");
    case daq::Headline::unknown:
      break;
  }
  return QStringLiteral("?");
}

// A stale reading hides the state, except the one that tells people to stay away.
bool hides_state(const ShownState& state) {
  return !state.connected || (state.stale && state.headline != daq::Headline::keep_clear);
}

const char* detector_word(const daq::BenchView& view) {
  if (!view.detector_known) return "no reading";
  switch (view.detector) {
    case wire::DetectorState::idle:
      return "idle";
    case wire::DetectorState::building:
      return "building";
    case wire::DetectorState::decided:
      return "decided";
    case wire::DetectorState::inhibited:
      break;
  }
  return "inhibited";
}

}  // namespace

Meaning headline_meaning(daq::Headline headline) {
  switch (headline) {
    case daq::Headline::safe:
      return Meaning::safe;
    case daq::Headline::pressurised:
    case daq::Headline::venting:
      return Meaning::abnormal;
    case daq::Headline::release_enabled:
    case daq::Headline::recording:
    case daq::Headline::keep_clear:
      return Meaning::danger;
    case daq::Headline::unknown:
      break;
  }
  return Meaning::unknown;
}

ShownState shown_state(const daq::BenchView* view, double view_age_seconds) {
  ShownState state;
  if (view == nullptr) return state;
  state.connected = true;
  state.headline = view->headline;
  state.pressure_age_seconds = view->pressure_pascals ? view->pressure_age_seconds + view_age_seconds : INFINITY;
  state.stale = state.pressure_age_seconds > kStaleSeconds || view->headline == daq::Headline::unknown;
  return state;
}

HeadlineBar::HeadlineBar(QWidget* parent) : QWidget{parent}, abort_{new AbortButton} {
  setObjectName("headline");
  setFixedHeight(76);
  auto* grid = new QGridLayout;
  grid->setHorizontalSpacing(20);
  grid->setVerticalSpacing(2);
  for (int k = 0; k < 4; ++k) {
    facts_[k] = new QLabel;
    facts_[k]->setObjectName(QStringLiteral("fact_%1").arg(k));
    // A fact never keeps the window wide; narrow windows show the two that matter most (resizeEvent).
    facts_[k]->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Preferred);
    grid->addWidget(facts_[k], k % 2, k / 2);
  }
  grid->setColumnStretch(0, 1);
  auto* row = new QHBoxLayout{this};
  row->setContentsMargins(0, 8, 8, 8);
  row->addSpacerItem(new QSpacerItem{0, 0, QSizePolicy::Maximum, QSizePolicy::Minimum});
  row->addLayout(grid, 1);
  row->addWidget(abort_);
  timer_.setInterval(100);
  connect(&timer_, &QTimer::timeout, this, [this] { refresh(); });
  timer_.start();
  refresh();
}

void HeadlineBar::show(std::shared_ptr<const daq::BenchView> view, Clock::time_point now) {
  view_ = std::move(view);
  received_ = now;
  refresh(now);
}

void HeadlineBar::refresh(Clock::time_point now) {
  const double view_age = std::max(0.0, std::chrono::duration<double>(now - received_).count());
  state_ = shown_state(view_.get(), view_age);
  showFacts();
  setAccessibleName(stateWords() + ", " + pressureWords() + ", " + ageWords());
  update();
}

void HeadlineBar::showFacts() {
  QString words[4];
  if (view_ != nullptr) {
    words[0] = view_->trial_number > 0 ? tr("trial %1 · %2").arg(view_->trial_number).arg(text(daq::word(view_->step)))
                                       : text(daq::word(view_->step));
    words[2] = tr("detector %1").arg(text(detector_word(*view_)));
    words[3] = view_->alignment_uncertainty_seconds
                   ? tr("clocks ±%1 ms").arg(text(significant(*view_->alignment_uncertainty_seconds * 1.0e3, 2)))
                   : tr("clocks not aligned");
    words[1] = tr("flight: %1").arg(view_->firing.empty() ? tr("no reading") : text(view_->firing));
  } else {
    words[0] = tr("nothing connected");
  }
  for (int k = 0; k < 4; ++k)
    if (facts_[k]->text() != words[k]) {
      facts_[k]->setText(words[k]);
      facts_[k]->setToolTip(words[k]);
    }
}

QString HeadlineBar::stateWords() const {
  if (!state_.connected) return tr("NO BENCH");
  if (hides_state(state_)) return text(daq::word(daq::Headline::unknown));
  return text(daq::word(state_.headline));
}

QString HeadlineBar::pressureWords() const {
  if (view_ == nullptr || !view_->pressure_pascals || !std::isfinite(*view_->pressure_pascals)) return tr("-.-- bar");
  return tr("%1 bar").arg(text(decimal(*view_->pressure_pascals * 1.0e-5, 2)));
}

QString HeadlineBar::ageWords() const {
  if (!state_.connected) return {};
  if (!std::isfinite(state_.pressure_age_seconds)) return tr("no reading: treat as pressurised");
  if (state_.stale) return tr("%1 old: treat as pressurised").arg(text(age(state_.pressure_age_seconds)));
  return tr("gauge, %1 ago").arg(text(age(state_.pressure_age_seconds)));
}

QFont HeadlineBar::headlineFont() const { return type(width() < kCompactBelow ? 15.0 : kHeadlinePt, true); }

QRect HeadlineBar::stateRect() const {
  // As wide as the longest state, so that nothing moves when the state changes.
  const QFontMetrics metrics{headlineFont()};
  int widest = metrics.horizontalAdvance(tr("NO BENCH"));
  for (const auto one : {daq::Headline::unknown, daq::Headline::safe, daq::Headline::pressurised, daq::Headline::release_enabled,
                         daq::Headline::recording, daq::Headline::venting, daq::Headline::keep_clear})
    widest = std::max(widest, metrics.horizontalAdvance(text(daq::word(one))));
  return {0, 0, widest + metrics.horizontalAdvance("◆ ") + 32, height()};
}

QRect HeadlineBar::pressureRect() const {
  const int width = std::max(QFontMetrics{headlineFont()}.horizontalAdvance(tr("-88.88 bar")),
                             QFontMetrics{type(kBodyPt, true)}.horizontalAdvance(tr("888 ms old: treat as pressurised")));
  return {stateRect().right() + 16, 0, width + 8, height()};
}

bool HeadlineBar::wordsFit() const {
  const QFontMetrics big{headlineFont()}, small{type(kBodyPt, state_.stale)};
  return big.horizontalAdvance(state_shape(state_.headline, hides_state(state_)) + " " + stateWords()) <= stateRect().width() &&
         big.horizontalAdvance(pressureWords()) <= pressureRect().width() &&
         small.horizontalAdvance(ageWords()) <= pressureRect().width() && pressureRect().right() < facts_[0]->x() &&
         abort_->geometry().right() <= width();
}

void HeadlineBar::resizeEvent(QResizeEvent*) {
  auto* row = static_cast<QHBoxLayout*>(layout());
  row->itemAt(0)->spacerItem()->changeSize(pressureRect().right() + 12, 0, QSizePolicy::Maximum, QSizePolicy::Minimum);
  // Detector and clocks stand on the Bench page too; trial, step and firing channels only here.
  const bool wide = width() >= kCompactBelow;
  for (QLabel* fact : {facts_[2], facts_[3]}) fact->setVisible(wide);
  static_cast<QGridLayout*>(row->itemAt(1)->layout())->setColumnStretch(1, wide ? 1 : 0);
  row->invalidate();  // the row was laid out before this event with the old width of its spacer
  row->activate();
}

void HeadlineBar::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  painter.fillRect(rect(), look.sheet);
  painter.fillRect(QRect{0, height() - 1, width(), 1}, look.line);
  const bool known = state_.connected && !state_.stale;
  const Meaning meaning = hides_state(state_) ? Meaning::unknown : headline_meaning(state_.headline);
  paint_chip(painter, stateRect(), meaning, look, state_shape(state_.headline, hides_state(state_)) + " " + stateWords(),
             headlineFont());
  const QRect field = pressureRect();
  if (!known) paint_hatch(painter, field, look.line);
  painter.setPen(known ? look.ink : look.muted);
  painter.setFont(headlineFont());
  painter.drawText(field.adjusted(0, 4, 0, -24), Qt::AlignLeft | Qt::AlignVCenter, pressureWords());
  painter.setFont(type(kBodyPt, !known));  // as measured in pressureRect and wordsFit
  painter.setPen(known ? look.muted : look.ink);
  painter.drawText(field.adjusted(0, 48, 0, -4), Qt::AlignLeft | Qt::AlignVCenter, ageWords());
}

HatchedBanner::HatchedBanner(const char* name, const QString& words, QWidget* parent) : QWidget{parent}, words_{words} {
  setObjectName(name);
  setFixedHeight(24);
  setAccessibleName(words);
}

void HatchedBanner::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  QPainter painter{this};
  painter.fillRect(rect(), look.ink);
  paint_hatch(painter, QRectF{0.0, 0.0, 90.0, 24.0}, look.paper);
  paint_hatch(painter, QRectF{width() - 90.0, 0.0, 90.0, 24.0}, look.paper);
  painter.setPen(look.sheet);
  painter.setFont(type(kBodyPt, true));
  painter.drawText(rect(), Qt::AlignCenter, words_);
}

}  // namespace coldstroke::gui
