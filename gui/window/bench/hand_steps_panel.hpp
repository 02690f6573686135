// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QLabel>

#include "daq/bench/bench_view.hpp"

namespace coldstroke::gui {

/// A rig with hand valves: what the person there does now, one step at a time, and what proves each; before the charge also
/// what this rig does not do by itself. Hidden on a driven rig.
class HandStepsPanel : public QLabel {
  Q_OBJECT
 public:
  explicit HandStepsPanel(QWidget* parent = nullptr);
  void show(const daq::BenchView& view);
  /// The words for this view; empty: nothing to say.
  [[nodiscard]] static QString words(const daq::BenchView& view);
};

}  // namespace coldstroke::gui
