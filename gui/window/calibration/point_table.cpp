// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/calibration/point_table.hpp"

#include <QHeaderView>
#include <QKeyEvent>

#include "gui/report/figures.hpp"
#include "gui/window/look.hpp"

namespace coldstroke::gui {

PointTable::PointTable(QWidget* parent) : QTableWidget{parent} {
  setObjectName("calibration_points");
  setAccessibleName(tr("Calibration points"));
  setToolTip(tr("Delete takes the chosen point out"));
  setColumnCount(5);
  setEditTriggers(QAbstractItemView::NoEditTriggers);
  setSelectionBehavior(QAbstractItemView::SelectRows);
  setTabKeyNavigation(false);
  verticalHeader()->hide();
  verticalHeader()->setDefaultSectionSize(24);
  horizontalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
  // Not setStretchLastSection: that keeps the section's first size at least, and cuts it off in the smallest window.
  horizontalHeader()->setSectionResizeMode(columnCount() - 1, QHeaderView::Stretch);
  setMinimumHeight(96);
  fill();
}

void PointTable::setUnit(const QString& unit, double per_si) {
  unit_ = unit;
  per_si_ = per_si;
  fill();
}

void PointTable::add(const analysis::CalibrationPoint& point) {
  points_.push_back(point);
  fill();
  selectRow(rowCount() - 1);
  Q_EMIT pointsChanged();
}

void PointTable::removeChosen() {
  if (currentRow() < 0 || currentRow() >= rowCount()) return;
  points_.erase(points_.begin() + currentRow());
  fill();
  Q_EMIT pointsChanged();
}

void PointTable::removeAll() {
  points_.clear();
  fill();
  Q_EMIT pointsChanged();
}

void PointTable::keyPressEvent(QKeyEvent* event) {
  if (event->key() == Qt::Key_Delete) return removeChosen();
  QTableWidget::keyPressEvent(event);
}

void PointTable::fill() {
  setHorizontalHeaderLabels({tr("load %1").arg(unit_), tr("counts"), tr("sd"), tr("n"), tr("way")});
  setRowCount(static_cast<int>(points_.size()));
  for (int row = 0; row < rowCount(); ++row) {
    const analysis::CalibrationPoint& p = points_[static_cast<std::size_t>(row)];
    const QString cells[] = {text(significant(p.applied * per_si_, 5)), text(decimal(p.reading, 1)),
                             text(significant(p.reading_standard_deviation, 2)), QString::number(p.samples),
                             p.unloading ? tr("down") : tr("up")};
    for (int column = 0; column < 5; ++column) setItem(row, column, new QTableWidgetItem{cells[column]});
  }
}

}  // namespace coldstroke::gui
