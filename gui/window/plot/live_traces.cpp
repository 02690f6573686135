// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/plot/live_traces.hpp"

#include <algorithm>
#include <cmath>

#include "gui/report/figures.hpp"

namespace coldstroke::gui {
namespace {

constexpr double kTop = 24.0, kTitle = 18.0, kDetectorHeight = 20.0;
// Blocks come every few milliseconds; a longer silence than this is no jitter.
constexpr double kSilenceSeconds = 0.25;
constexpr double kShrinkAfterSeconds = 3.0;

struct DetectorLook {
  const char* word;
  Meaning meaning;
};

DetectorLook detector_look(wire::DetectorState state, bool known) {
  if (!known) return {"no reading", Meaning::unknown};
  switch (state) {
    case wire::DetectorState::idle:
      return {"idle", Meaning::none};
    case wire::DetectorState::building:
      return {"building", Meaning::abnormal};
    case wire::DetectorState::decided:
      return {"decided", Meaning::mandatory};
    case wire::DetectorState::inhibited:
      break;
  }
  return {"inhibited", Meaning::unknown};
}

}  // namespace

LiveTraces::LiveTraces(QWidget* parent) : QWidget{parent} {
  setObjectName("live_traces");
  setAttribute(Qt::WA_OpaquePaintEvent);
  setMinimumSize(minimumSizeHint());
  setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Expanding);
  setAccessibleName(tr("Live traces of the newest ten seconds"));
  clock_.start();
  timer_.setInterval(kFrameMilliseconds);
  timer_.setTimerType(Qt::PreciseTimer);
  connect(&timer_, &QTimer::timeout, this, &LiveTraces::advance);
}

void LiveTraces::setHistories(HistorySource source) {
  histories_ = std::move(source);
  rows_.clear();
  detector_.clear();
  update();
}

void LiveTraces::show(const daq::BenchView& view) {
  std::vector<std::size_t> order;
  for (std::size_t k = 0; k < view.channels.size(); ++k) order.push_back(k);
  std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return view.channels[a].role < view.channels[b].role; });
  const bool same =
      rows_.size() == order.size() && std::equal(rows_.begin(), rows_.end(), order.begin(), [&](const Row& row, auto channel) {
        return row.channel == channel && row.view.name == view.channels[channel].name;
      });
  if (!same) {
    rows_.clear();
    for (const std::size_t channel : order) rows_.emplace_back().channel = channel;
  }
  for (Row& row : rows_) row.view = view.channels[row.channel];
  if (!same) layOutRows();
  if (detector_.empty() || detector_.back().state != view.detector || detector_.back().known != view.detector_known)
    detector_.push_back({now_seconds_, view.detector, view.detector_known});
  while (detector_.size() > 1 && detector_[1].from_seconds < now_seconds_ - kSpanSeconds) detector_.pop_front();
}

void LiveTraces::layOutRows() {
  const double band = kDetectorHeight + 8.0;
  const double height = this->height() - kTop - kPlotBottom - band;
  const double count = static_cast<double>(std::max<std::size_t>(1, rows_.size()));
  const double row_height = std::floor((height - kPlotGap * (count - 1.0)) / count);
  double top = kTop;
  for (Row& row : rows_) {
    row.area = QRectF{kPlotLeft, top, std::floor(width() - kPlotLeft - kPlotRight), row_height};
    top += row_height + kPlotGap;
    row.envelope.reset();  // the number of columns follows the width
  }
  // Under the time labels of the last row.
  detector_area_ = QRectF{kPlotLeft, this->height() - kDetectorHeight - 4.0, width() - kPlotLeft - kPlotRight, kDetectorHeight};
}

void LiveTraces::resizeEvent(QResizeEvent*) { layOutRows(); }
void LiveTraces::showEvent(QShowEvent*) { timer_.start(); }
void LiveTraces::hideEvent(QHideEvent*) { timer_.stop(); }

double LiveTraces::x(double seconds_ago) const {
  const QRectF& area = detector_area_;
  return area.right() - area.width() * seconds_ago / kSpanSeconds;
}

void LiveTraces::followRow(Row& row) {
  if (!histories_) return;
  auto history = histories_(row.channel);
  if (history == nullptr || row.area.width() < 1.0) return;
  if (history != row.history || row.envelope == nullptr) {
    const double columns = std::max(16.0, row.area.width() * devicePixelRatioF());
    const double samples = kSpanSeconds / history->period_seconds();
    // Rounded down: a column a little narrower than a pixel leaves no pixel between two of them empty.
    const auto per_column = static_cast<std::size_t>(std::max(1.0, std::floor(samples / columns)));
    // Two spare columns: the one that leaves and the one that fills.
    row.envelope = std::make_unique<LiveEnvelope>(per_column, static_cast<std::size_t>(samples) / per_column + 2);
    row.history = std::move(history);
    row.timed = false;
  }
  const double newest_before = row.envelope->newest_seconds();
  if (!row.envelope->follow(*row.history)) return;
  keepTime(row, newest_before);
  fitRange(row);
}

void LiveTraces::fitRange(Row& row) {
  const Column extent = row.envelope->extent();
  if (extent.empty()) return;
  const double per_si = screen_unit(row.view.quantity).per_si;
  // Zero stays in view: it is what pressure and force are compared with.
  const double low = std::min(0.0, extent.low * per_si), high = std::max(0.0, extent.high * per_si);
  // Noise around zero must not fill the plot: one unit at least.
  const AxisRange wanted =
      axis_range(low, std::max(high, low + 1.0), static_cast<int>(std::clamp(row.area.height() / 24.0, 2.0, 5.0)));
  const bool too_small = low < row.range.low || high > row.range.high;
  const bool too_large = (wanted.high - wanted.low) < 0.6 * (row.range.high - row.range.low);
  if (!too_large)
    row.too_large_since_seconds = -1.0;
  else if (row.too_large_since_seconds < 0.0)
    row.too_large_since_seconds = hostSeconds();
  const bool long_enough = too_large && hostSeconds() - row.too_large_since_seconds > kShrinkAfterSeconds;
  if (too_small || long_enough) {
    row.range = wanted;
    row.too_large_since_seconds = -1.0;
  }
}

// Blocks come a little late, now more, now less; the least lateness seen is the steadiest link between a board's clock and the
// host's. It may grow by 100 ppm, more than two clocks drift apart, so that it can follow.
void LiveTraces::keepTime(Row& row, double newest_before) {
  const double newest = row.envelope->newest_seconds(), lateness = now_seconds_ - newest;
  const bool anew = !row.timed || newest < newest_before;  // the board's clock began anew
  const double drifted = row.host_minus_board_seconds + 1.0e-4 * (now_seconds_ - row.new_at_host_seconds);
  row.host_minus_board_seconds = anew ? lateness : std::min(drifted, lateness);
  row.new_at_host_seconds = now_seconds_;
  row.timed = true;
}

void LiveTraces::advance() {
  now_seconds_ = hostSeconds();
  bool moving = false;
  for (Row& row : rows_) {
    followRow(row);
    moving = moving || (row.timed && now_seconds_ - row.new_at_host_seconds < 1.5 * kSpanSeconds);
  }
  if (moving) update();
}

void LiveTraces::paintRow(QPainter& painter, Row& row, const Look& look) {
  const ScreenUnit unit = screen_unit(row.view.quantity);
  if (row.envelope != nullptr && !row.envelope->columns().empty()) {
    const LiveEnvelope& envelope = *row.envelope;
    const double period = row.history->period_seconds();
    const double pixels_per_sample = row.area.width() * period / kSpanSeconds;
    const double age = now_seconds_ - envelope.newest_seconds() - row.host_minus_board_seconds;
    const double newest_x = x(age);
    const double scale = row.area.height() / (row.range.high - row.range.low);
    row.lines.clear();
    std::uint64_t sample = envelope.first_sample();
    for (const Column& column : envelope.columns()) {
      const double at =
          newest_x -
          static_cast<double>(envelope.next_sample() - 1 - std::min(sample, envelope.next_sample() - 1)) * pixels_per_sample;
      sample += envelope.samples_per_column();
      if (at < row.area.left()) continue;
      if (column.empty())
        row.lines.gap();
      else
        row.lines.add(at, row.area.bottom() - (column.low * unit.per_si - row.range.low) * scale,
                      row.area.bottom() - (column.high * unit.per_si - row.range.low) * scale);
    }
    QPen pen{look.trace(row.view.role), 1.0};
    pen.setCosmetic(true);
    painter.setPen(pen);
    painter.drawLines(row.lines.lines().data(), static_cast<int>(row.lines.lines().size()));
    const double silent_from = std::max(newest_x, row.area.left());
    if (age > kSilenceSeconds)
      paint_hatch(painter, QRectF{silent_from, row.area.top(), row.area.right() - silent_from, row.area.height()}, look.line);
  }
  QString words = text(channel_title(row.view.role, row.view.name) + (unit.symbol.empty() ? "" : " " + std::string{unit.symbol}));
  if (row.view.newest && std::isfinite(*row.view.newest))
    words +=
        "   " + text(decimal(*row.view.newest * unit.per_si, row.view.quantity == analysis::Quantity::gauge_pressure ? 2 : 1));
  if (row.view.saturated) words += tr("   SATURATED");
  painter.setFont(type(kBodyPt, true));
  painter.fillRect(QRectF{row.area.left(), row.area.top() - 0.5 * kTitle - 2.5, 10.0, 3.0}, look.trace(row.view.role));
  painter.setPen(look.ink);
  painter.drawText(QRectF{row.area.left() + 15.0, row.area.top() - kTitle - 1.0, row.area.width() - 15.0, kTitle},
                   Qt::AlignLeft | Qt::AlignVCenter, words);
}

void LiveTraces::paintDetector(QPainter& painter, const Look& look) {
  painter.setFont(type(kBodyPt));
  painter.setPen(look.muted);
  painter.drawText(QRectF{0.0, detector_area_.top(), kPlotLeft - 6.0, kDetectorHeight}, Qt::AlignRight | Qt::AlignVCenter,
                   tr("detector"));
  painter.drawText(QRectF{0.0, rows_.back().area.bottom() + 4.0, kPlotLeft - 20.0, 18.0}, Qt::AlignRight | Qt::AlignVCenter,
                   tr("time s"));
  painter.fillRect(detector_area_, look.paper);
  for (std::size_t k = 0; k < detector_.size(); ++k) {
    const double end = k + 1 < detector_.size() ? detector_[k + 1].from_seconds : now_seconds_;
    const double left = std::max(detector_area_.left(), x(now_seconds_ - detector_[k].from_seconds)),
                 right = x(now_seconds_ - end);
    if (right <= detector_area_.left() || right - left < 1.0) continue;
    const QRectF field{left, detector_area_.top(), right - left, kDetectorHeight};
    const DetectorLook shown = detector_look(detector_[k].state, detector_[k].known);
    paint_field(painter, field, shown.meaning, look);
    painter.setPen(shown.meaning == Meaning::none ? look.muted : look.text_on(shown.meaning));
    painter.setFont(type(kBodyPt));
    // The whole word, or its first letter, or nothing: half a word could be read as another.
    const QString word = text(shown.word), letter = word.left(1).toUpper();
    const QFontMetricsF metrics{painter.font()};
    if (metrics.horizontalAdvance(word) + 8.0 <= field.width())
      painter.drawText(field, Qt::AlignCenter, word);
    else if (metrics.horizontalAdvance(letter) + 2.0 <= field.width())
      painter.drawText(field, Qt::AlignCenter, letter);
  }
  painter.setPen(look.line);
  painter.drawRect(detector_area_);
}

void LiveTraces::paintEvent(QPaintEvent*) {
  const Look& look = look_of(this);
  std::vector<FrameRow> rows;
  for (const Row& row : rows_) rows.push_back({row.range, row.area});
  QPainter painter{this};
  if (rows.empty()) {
    painter.fillRect(rect(), look.sheet);
    painter.setPen(look.muted);
    painter.drawText(rect(), Qt::AlignCenter, tr("No channels yet: waiting for the boards to introduce themselves."));
    return;
  }
  painter.drawPixmap(0, 0, frame_.picture(size(), devicePixelRatioF(), rows, {-kSpanSeconds, 0.0, 1.0}, look));
  for (Row& row : rows_) paintRow(painter, row, look);
  paintDetector(painter, look);
}

}  // namespace coldstroke::gui
