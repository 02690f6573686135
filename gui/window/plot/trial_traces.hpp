// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QPointF>
#include <QString>
#include <QWidget>
#include <deque>
#include <optional>
#include <vector>

#include "gui/report/event_view.hpp"
#include "gui/window/plot/plot_frame.hpp"
#include "gui/window/plot/trace_line.hpp"

namespace coldstroke::gui {

/// An archived trial's traces, stacked over one time axis with its zero at first motion.
///
/// Wheel zooms time around the pointer, drag pans, double click resets. A crosshair reads every trace at one instant; it
/// follows the pointer or the arrow keys. Keys: Left/Right move the crosshair (Ctrl: pan), + and - zoom, Home resets.
class TrialTraces : public QWidget {
  Q_OBJECT
 public:
  explicit TrialTraces(QWidget* parent = nullptr);
  /// `traces` and `marks` are copied. Shows the stroke first.
  void show(analysis::TraceSet traces, const analysis::Marks& marks);
  void clear();

  void showStroke();
  void showAllMarks();
  void showWholeRecord();
  [[nodiscard]] Stretch stretch() const { return stretch_; }
  void setStretch(Stretch stretch);

  /// Where the crosshair stands, on the record's time line.
  [[nodiscard]] std::optional<double> crosshairSeconds() const { return crosshair_; }
  void setCrosshair(std::optional<double> seconds);
  /// What row `row` reads there: "412.0 N", "lost", or empty outside the record.
  [[nodiscard]] QString reading(std::size_t row, double seconds) const;

  /// Every trace as recorded, or through the channel frequency class that the setup names for it; the legends say which.
  void setUnfiltered(bool unfiltered);
  [[nodiscard]] bool unfiltered() const { return unfiltered_; }
  /// Any trace has a class that its rate allows.
  [[nodiscard]] bool hasFiltered() const { return !filtered_.empty(); }
  [[nodiscard]] QString legend(std::size_t row) const;

  [[nodiscard]] std::size_t rowCount() const { return rows_.size(); }
  [[nodiscard]] QRectF rowArea(std::size_t row) const { return rows_.at(row).area; }
  [[nodiscard]] QSize minimumSizeHint() const override { return {320, 260}; }

 Q_SIGNALS:
  void stretchChanged();

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void wheelEvent(QWheelEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void mouseDoubleClickEvent(QMouseEvent* event) override;
  void leaveEvent(QEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;

 private:
  struct Row {
    const analysis::Trace* trace;  ///< as shown
    AxisRange range;
    QRectF area;
    ColumnLines lines;
    const analysis::Trace* raw = trace;
    const analysis::Trace* filtered = nullptr;
  };
  struct MarkLabel {
    double x, last_x;  ///< of its first and last mark
    QString words;
    bool inside;
  };
  [[nodiscard]] std::vector<MarkLabel> markLabels() const;
  void chooseShown();
  void layOutRows();
  void fitRanges();
  void zoom(double factor, double around_seconds);
  void pan(double seconds);
  void paintRow(QPainter& painter, Row& row, const Look& look);
  void paintRuns(QPainter& painter, const Row& row, const std::vector<analysis::IndexRun>& runs, const QString& word,
                 const Look& look);
  void paintMarks(QPainter& painter, const Look& look) const;
  void paintCrosshair(QPainter& painter, const Look& look) const;
  [[nodiscard]] double x(double seconds) const;
  [[nodiscard]] double secondsAt(double x) const;
  [[nodiscard]] AxisRange timeAxis() const;

  analysis::TraceSet traces_;
  analysis::Marks marks_;
  std::deque<analysis::Trace> filtered_;
  bool unfiltered_ = false;
  std::vector<Row> rows_;
  Stretch stretch_;
  double zero_ = 0.0;
  std::optional<double> crosshair_;
  std::optional<double> dragged_from_;  // time under the pointer when the drag began
  PlotFrame frame_;
};

}  // namespace coldstroke::gui
