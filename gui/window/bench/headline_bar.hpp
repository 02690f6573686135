// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QTimer>
#include <QWidget>
#include <chrono>
#include <memory>

#include "daq/bench/bench_view.hpp"
#include "gui/window/bench/hold_button.hpp"
#include "gui/window/look.hpp"

class QLabel;

namespace coldstroke::gui {

/// Older than this a reading is no longer fresh: it is greyed out, hatched, and says how old it is.
inline constexpr double kStaleSeconds = 0.5;

/// The state as the headline shows it now: a stale reading makes every state unknown.
struct ShownState {
  daq::Headline headline = daq::Headline::unknown;  ///< as last known
  bool connected = false;                           ///< a bench exists at all
  bool stale = true;
  double pressure_age_seconds = 0.0;  ///< at the time of showing, never less than true
};
/// `view_age_seconds`: since the view was published.
[[nodiscard]] ShownState shown_state(const daq::BenchView* view, double view_age_seconds);
[[nodiscard]] Meaning headline_meaning(daq::Headline headline);

/// The state headline across the top of every page: state word, pressure, age, the trial's facts, and abort.
class HeadlineBar : public QWidget {
  Q_OBJECT
 public:
  using Clock = std::chrono::steady_clock;
  explicit HeadlineBar(QWidget* parent = nullptr);
  /// Null: no bench. `now`: when the view was received.
  void show(std::shared_ptr<const daq::BenchView> view, Clock::time_point now = Clock::now());
  /// Ages go on by themselves; the timer calls this ten times a second.
  void refresh(Clock::time_point now = Clock::now());
  [[nodiscard]] AbortButton* abortButton() const { return abort_; }
  [[nodiscard]] const ShownState& state() const { return state_; }
  [[nodiscard]] QString stateWords() const;
  [[nodiscard]] QString pressureWords() const;
  [[nodiscard]] QString ageWords() const;
  /// Where state and pressure are painted, for tests.
  [[nodiscard]] QRect stateRect() const;
  [[nodiscard]] QRect pressureRect() const;
  /// Whether every word fits where it is painted.
  [[nodiscard]] bool wordsFit() const;

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;

 private:
  [[nodiscard]] QFont headlineFont() const;
  void showFacts();
  std::shared_ptr<const daq::BenchView> view_;
  Clock::time_point received_{};
  ShownState state_;
  QLabel* facts_[4];
  AbortButton* abort_;
  QTimer timer_;
};

/// The strip that says that this is no real rig. Hidden on a real one.
class HatchedBanner : public QWidget {
  Q_OBJECT
 public:
  explicit HatchedBanner(const char* name, const QString& words, QWidget* parent = nullptr);

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  QString words_;
};

}  // namespace coldstroke::gui
