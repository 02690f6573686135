// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

#include "daq/bench/bench_view.hpp"

class QLabel;

namespace coldstroke::gui {

/// "2 lost, 1 damaged (checksum)", or "nothing lost" if every count is zero.
[[nodiscard]] QString losses(const wire::LineCounts& counts);

/// Both links: talking or not, how old, who is there, what was lost, how well its clock is known.
class LinkPanel : public QWidget {
  Q_OBJECT
 public:
  explicit LinkPanel(QWidget* parent = nullptr);
  void show(const std::array<daq::LinkView, 2>& links);

 private:
  QLabel* state_[2];
  QLabel* detail_[2];
};

}  // namespace coldstroke::gui
