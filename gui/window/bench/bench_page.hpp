// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "daq/bench/bench_view.hpp"
#include "gui/window/plot/live_traces.hpp"

class QLabel;
class QPlainTextEdit;
class QPushButton;
class QLineEdit;
class QStackedWidget;

namespace coldstroke::gui {

class BypassPanel;
class ChecklistPanel;
class Countdown;
class HandStepsPanel;
class HoldButton;
class InterlockList;
class KeepOutPanel;
class LinkPanel;
class StepLadder;
class VerdictChip;

/// What the rig is doing now: step ladder, next action and keep-out on the left; live traces or the checklist, and the log, in
/// the middle; interlocks, bypass and links on the right.
class BenchPage : public QWidget {
  Q_OBJECT
 public:
  explicit BenchPage(QWidget* parent = nullptr);
  /// Of the bench that is shown from now on.
  void setSetup(const daq::Setup& setup);
  void show(const daq::BenchView& view);
  void keepDraft();  ///< a note typed but not yet kept is kept now
  [[nodiscard]] LiveTraces* traces() const { return traces_; }
  [[nodiscard]] HoldButton* nextAction() const { return next_; }

 Q_SIGNALS:
  void requested(coldstroke::daq::OperatorRequest request);
  void noteWritten(QString text);
  void trialWanted(qlonglong number);
  void signatureGiven(QString role, QString name, QStringList confirmed);
  void bypassWanted(QString interlock, QString reason);
  void targetTyped(double pascals);
  void secondCounted(int left);  ///< another whole second to release has begun

 protected:
  void resizeEvent(QResizeEvent* event) override;

 private:
  enum Middle { kTraces, kChecklist };
  void turnTo(Middle what);
  void shareRoom();
  void showCountdown(const daq::BenchView& view);
  QWidget* makeLeft();
  QWidget* makeMiddle();
  QWidget* makeChecklist();
  QWidget* makeRight();
  void showChecklist(const daq::BenchView& view);
  void showNext(const daq::BenchView& view);
  void showLast(const daq::BenchView& view);
  void showLog(const daq::BenchView& view);

  StepLadder* ladder_;
  Countdown* countdown_;
  KeepOutPanel* keep_out_;
  QStackedWidget* middle_;
  HandStepsPanel* hand_steps_;
  ChecklistPanel* checklist_;
  QPushButton* checklist_button_;
  BypassPanel* bypass_;
  QWidget* right_;
  bool checklist_wanted_ = false, next_had_focus_ = false;
  HoldButton* next_;
  QLabel* why_not_;
  VerdictChip* last_verdict_;
  QLabel* last_sentence_;
  QPushButton* open_last_;
  LiveTraces* traces_;
  QPlainTextEdit* log_;
  QLineEdit* note_;
  InterlockList* interlocks_;
  LinkPanel* links_;
  daq::OperatorRequest request_ = daq::OperatorRequest::none;
  qlonglong last_number_ = 0;
  std::vector<daq::BenchLogLine> shown_log_;
};

}  // namespace coldstroke::gui
