// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <vector>

#include "daq/bench/bench_view.hpp"

namespace coldstroke::gui {

/// What must hold for the next step: a mark and a name each; for one that does not hold also what it reads, what it must be,
/// and what to do. Those that block stand first.
class InterlockList : public QWidget {
  Q_OBJECT
 public:
  explicit InterlockList(QWidget* parent = nullptr);
  void show(const std::vector<daq::InterlockLine>& lines);
  /// What all of it takes at this width. A scroll area asks no widget for it, so the widget keeps its own least height.
  [[nodiscard]] int heightAt(int width) const;
  [[nodiscard]] QSize sizeHint() const override { return {190, heightAt(190)}; }
  /// The words under a line that does not hold: "reads open; must be shut. Shut the lid."
  [[nodiscard]] static QString why(const daq::InterlockLine& line);

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;

 private:
  [[nodiscard]] int lineHeight(const daq::InterlockLine& line, int width) const;
  std::vector<daq::InterlockLine> lines_;
};

}  // namespace coldstroke::gui
