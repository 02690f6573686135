// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QTimer>
#include <QWidget>

#include "daq/bench/bench_view.hpp"

class QLabel;
class QPushButton;

namespace coldstroke::gui {

class HandStepsPanel;
class HoldButton;
class InterlockList;

/// Takes the whole page while nobody may go to the rig: why, how long, what must be proven, and the one way out.
class KeepClearPage : public QWidget {
  Q_OBJECT
 public:
  explicit KeepClearPage(QWidget* parent = nullptr);
  void show(const daq::BenchView& view);
  [[nodiscard]] HoldButton* nextAction() const { return next_; }

 Q_SIGNALS:
  void requested(coldstroke::daq::OperatorRequest request);
  void alarm();  ///< every two seconds while shown, unless silenced

 protected:
  void paintEvent(QPaintEvent* event) override;
  void showEvent(QShowEvent* event) override;
  void hideEvent(QHideEvent* event) override;

 private:
  QLabel *order_, *why_, *wait_, *why_not_, *log_;
  HandStepsPanel* hand_steps_;
  InterlockList* interlocks_;
  HoldButton* next_;
  QPushButton* silence_;
  QTimer timer_;
  daq::OperatorRequest request_ = daq::OperatorRequest::none;
};

}  // namespace coldstroke::gui
