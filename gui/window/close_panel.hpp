// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "daq/bench/bench_view.hpp"

class QLabel;
class QPushButton;

namespace coldstroke::gui {

/// Whether the window may close at once: no trial under way and the rig known to be vented (or never seen).
[[nodiscard]] bool may_close(const daq::BenchView& view);

/// Asked when the window is to be closed during a trial: vent first, or stay. It fills the page, not the headline, so the
/// abort button stays where it is.
class ClosePanel : public QWidget {
  Q_OBJECT
 public:
  explicit ClosePanel(QWidget* parent = nullptr);
  void ask(const daq::BenchView& view);
  void follow(const daq::BenchView& view);  ///< emits readyToClose once vented after `vent` was chosen
  [[nodiscard]] bool venting() const { return venting_; }

 Q_SIGNALS:
  void ventWanted();
  void readyToClose();
  void stayWanted();

 private:
  QLabel *question_, *progress_;
  QPushButton *vent_, *stay_, *force_;
  bool venting_ = false;
};

}  // namespace coldstroke::gui
