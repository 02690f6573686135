// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/trial/metric_table.hpp"

#include <QHeaderView>
#include <QPainter>
#include <QStyledItemDelegate>
#include <algorithm>

#include "gui/window/look.hpp"

namespace coldstroke::gui {
namespace {

constexpr int kCellPad = 2;

// Paints the margin bar and the verdict chip; every other cell is plain text.
class RowDelegate : public QStyledItemDelegate {
 public:
  RowDelegate(const MetricTable& table, QObject* parent) : QStyledItemDelegate{parent}, table_{table} {}

  void paint(QPainter* painter, const QStyleOptionViewItem& option, const QModelIndex& index) const override {
    QStyleOptionViewItem cell = option;
    if (index.column() != MetricTable::kVerdict) cell.rect.adjust(kCellPad, 0, -kCellPad, 0);
    QStyledItemDelegate::paint(painter, cell, index);
    const MetricRow& row = table_.rows().at(static_cast<std::size_t>(index.row()));
    const Look& look = look_of(&table_);
    painter->save();
    if (index.column() == MetricTable::kMargin && row.margin) {
      const bool chosen = (option.state & QStyle::State_Selected) != 0;
      paint_margin(*painter, QRectF{option.rect}.adjusted(6.0, 4.0, -6.0, -4.0), *row.margin, look,
                   chosen ? QColor{Qt::white} : look.ink);
    }
    if (index.column() == MetricTable::kVerdict && row.verdict) {
      const char* word = analysis::word(*row.verdict);
      paint_chip(*painter, QRectF{option.rect}.adjusted(3.0, 2.0, -3.0, -2.0), verdict_meaning(word), look, verdict_label(word),
                 type(kBodyPt, true));
    }
    painter->restore();
  }
  [[nodiscard]] QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const override {
    return QStyledItemDelegate::sizeHint(option, index) + QSize{2 * kCellPad, 0};
  }

 private:
  static void paint_margin(QPainter& painter, const QRectF& field, const MarginScale& scale, const Look& look,
                           const QColor& ink) {
    const auto x = [&](double value) { return field.left() + field.width() * scale.place(value); };
    const double from = x(scale.lower.value_or(scale.low)), to = x(scale.upper.value_or(scale.high)), middle = field.center().y();
    painter.fillRect(QRectF{from, middle - 4.0, to - from, 8.0}, look.line);
    painter.setPen(QPen{ink, 1.0});
    if (scale.lower) painter.drawLine(QPointF{from, field.top()}, QPointF{from, field.bottom()});
    if (scale.upper) painter.drawLine(QPointF{to, field.top()}, QPointF{to, field.bottom()});
    painter.setPen(QPen{ink, 1.0});
    painter.drawLine(QPointF{x(scale.interval_low), middle}, QPointF{x(scale.interval_high), middle});
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setBrush(ink);
    painter.drawEllipse(QPointF{x(scale.value), middle}, 3.5, 3.5);
  }
  const MetricTable& table_;
};

QTableWidgetItem* cell(const QString& words, Qt::Alignment alignment, const QString& tip) {
  auto* item = new QTableWidgetItem{words};
  item->setTextAlignment(alignment | Qt::AlignVCenter);
  item->setToolTip(tip);
  return item;
}

}  // namespace

MetricTable::MetricTable(QWidget* parent) : QTableWidget{0, kColumns, parent} {
  setObjectName("metric_table");
  setHorizontalHeaderLabels({tr("metric"), tr("value ± 95 %"), tr("limit"), tr("margin"), tr("verdict")});
  horizontalHeaderItem(kMargin)->setToolTip(tr("Where the value and its 95 % interval lie between the limits"));
  horizontalHeaderItem(kValue)->setToolTip(
      tr("Value and the half-width of its 95 % coverage interval, to two significant digits of that."));
  verticalHeader()->hide();
  verticalHeader()->setDefaultSectionSize(24);
  horizontalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
  horizontalHeader()->setSectionResizeMode(kMargin, QHeaderView::Stretch);
  horizontalHeader()->setMinimumSectionSize(40);
  horizontalHeader()->setHighlightSections(false);
  setItemDelegate(new RowDelegate{*this, this});
  setEditTriggers(NoEditTriggers);
  setSelectionBehavior(SelectRows);
  setSelectionMode(SingleSelection);
  setShowGrid(false);
  setFrameShape(QFrame::NoFrame);
  setWordWrap(true);
  setTabKeyNavigation(false);
  setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  setAccessibleName(tr("Metrics, limits and verdicts"));
}

void MetricTable::show(std::vector<MetricRow> rows) {
  clearSpans();
  rows_ = std::move(rows);
  setRowCount(static_cast<int>(rows_.size()));
  for (int k = 0; k < rowCount(); ++k) {
    const MetricRow& row = rows_[static_cast<std::size_t>(k)];
    const QString tip = text(row.meaning) + (row.reason.empty() ? QString{} : "\n" + text(row.reason));
    setItem(k, kMetric, cell(text(row.title), Qt::AlignLeft, tip));
    const bool absent = !row.absent.empty();
    const QString value = absent ? tr("absent") : row.unit.empty() ? text(row.value) : text(row.value) + " " + text(row.unit);
    setItem(k, kValue, cell(value, Qt::AlignRight, absent ? text(row.absent) : tip));
    setItem(k, kLimit, cell(text(row.limit), Qt::AlignLeft, tip));
    setItem(k, kMargin, cell({}, Qt::AlignLeft, tip));
    // The word is there for reading aloud and copying; the delegate paints a chip over it.
    setItem(k, kVerdict, cell(row.verdict ? verdict_label(analysis::word(*row.verdict)) + "  " : QString{}, Qt::AlignLeft, tip));
  }
  const int wanted = horizontalHeader()->sizeHint().height() + 24 * std::max(1, rowCount()) + 4;
  setMinimumHeight(std::min(160, wanted));
  setMaximumHeight(wanted);
}

}  // namespace coldstroke::gui
