// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "daq/bench/bench_view.hpp"
#include "gui/window/plot/live_traces.hpp"

class QLabel;
class QPlainTextEdit;
class QPushButton;
class QLineEdit;

namespace coldstroke::gui {

class HoldButton;
class InterlockList;
class LinkPanel;
class StepLadder;
class VerdictChip;

/// What the rig is doing now: step ladder and next action, live traces and log, interlocks and links.
class BenchPage : public QWidget {
  Q_OBJECT
 public:
  explicit BenchPage(QWidget* parent = nullptr);
  void show(const daq::BenchView& view);
  void keepDraft();  ///< a note typed but not yet kept is kept now
  [[nodiscard]] LiveTraces* traces() const { return traces_; }
  [[nodiscard]] HoldButton* nextAction() const { return next_; }

 Q_SIGNALS:
  void requested(coldstroke::daq::OperatorRequest request);
  void noteWritten(QString text);
  void trialWanted(qlonglong number);

 private:
  QWidget* makeLeft();
  QWidget* makeMiddle();
  QWidget* makeRight();
  void showNext(const daq::BenchView& view);
  void showLast(const daq::BenchView& view);
  void showLog(const daq::BenchView& view);

  StepLadder* ladder_;
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
