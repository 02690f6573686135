// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QElapsedTimer>
#include <QTimer>
#include <QWidget>
#include <deque>
#include <functional>
#include <memory>
#include <vector>

#include "daq/bench/bench_view.hpp"
#include "daq/stream/history.hpp"
#include "gui/window/plot/live_envelope.hpp"
#include "gui/window/plot/plot_frame.hpp"
#include "gui/window/plot/trace_line.hpp"

namespace coldstroke::gui {

/// The newest ten seconds of every channel, stacked over one time axis that stands still at -10 .. 0 s while traces move.
///
/// Draws 60 times a second at most, and only while it can be seen. A value axis grows at once and shrinks only when it has
/// been far too large for three seconds, so that nothing jumps. Every trace stands by the host's time of arrival, so both boards
/// are right to a few milliseconds without any alignment of their clocks (the Trial page has that), and when data stops its
/// trace moves on to the left: an old trace never stands where "now" is.
class LiveTraces : public QWidget {
  Q_OBJECT
 public:
  using HistorySource = std::function<std::shared_ptr<const daq::History>(std::size_t channel)>;
  static constexpr double kSpanSeconds = 10.0;
  static constexpr int kFrameMilliseconds = 16;

  explicit LiveTraces(QWidget* parent = nullptr);
  void setHistories(HistorySource source);
  /// Names and newest values of the channels, and the detector's present state.
  void show(const daq::BenchView& view);
  /// Takes in new samples and asks for a repaint if there are any. The timer's slot; public for measuring.
  void advance();
  [[nodiscard]] QSize minimumSizeHint() const override { return {250, 240}; }
  /// Area inside the axes of row `row`, for tests.
  [[nodiscard]] QRectF rowArea(std::size_t row) const { return rows_.at(row).area; }
  [[nodiscard]] std::size_t rowCount() const { return rows_.size(); }
  [[nodiscard]] int axisDrawings() const { return frame_.drawings(); }

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void showEvent(QShowEvent* event) override;
  void hideEvent(QHideEvent* event) override;

 private:
  struct Row {
    std::size_t channel = 0;
    daq::ChannelView view;
    std::unique_ptr<LiveEnvelope> envelope;
    std::shared_ptr<const daq::History> history;
    AxisRange range;
    QRectF area;
    double too_large_since_seconds = -1.0;
    bool timed = false;                     // whether the next two hold
    double new_at_host_seconds = 0.0;       // when its newest sample was taken in
    double host_minus_board_seconds = 0.0;  // the board's clock plus this is the host's
    ColumnLines lines;
  };
  struct DetectorSpan {
    double from_seconds;
    wire::DetectorState state;
    bool known;
  };
  void layOutRows();
  void followRow(Row& row);
  void keepTime(Row& row, double newest_before);
  void fitRange(Row& row);
  void paintRow(QPainter& painter, Row& row, const Look& look);
  void paintDetector(QPainter& painter, const Look& look);
  [[nodiscard]] double hostSeconds() const { return 1.0e-9 * static_cast<double>(clock_.nsecsElapsed()); }
  [[nodiscard]] double x(double seconds_ago) const;

  HistorySource histories_;
  std::vector<Row> rows_;
  std::deque<DetectorSpan> detector_;
  QRectF detector_area_;
  PlotFrame frame_;
  QTimer timer_;
  QElapsedTimer clock_;
  double now_seconds_ = 0.0;  // host time at the right edge
};

}  // namespace coldstroke::gui
